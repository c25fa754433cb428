"""Summaries of results of which some are below the detection limit (docs/methods/nondetects.md). Pure.

Left-censored throughout: a result "<0.5" is known to lie between nothing and 0.5, and is never replaced by zero or by
half its limit. Three methods, each with its convention named in the output, because they differ in the second digit:
Kaplan-Meier on flipped data, robust regression on order statistics, lognormal maximum likelihood (D. R. Helsel,
*Nondetects and Data Analysis*, 2005; EPA 530/R-09-007, 2009, ch. 15). Data that carry no summary get a refusal.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from math import exp, inf, log, pi, sqrt

import numpy as np
from scipy.special import erfcx, log_ndtr, ndtri

from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.digits import in_digits

#: Above this share below detection no mean is given (docs/methods/nondetects.md).
MAX_CENSORED = 0.8


class Method(StrEnum):
    KAPLAN_MEIER = "kaplan_meier"
    ROS = "ros"
    MLE = "mle"


class Leftover(StrEnum):
    """Where Kaplan-Meier puts the mass that lies below the smallest detect."""

    LOWEST_LIMIT = "lowest_limit"
    SMALLEST_DETECT = "smallest_detect"


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why there is no summary, and what to report instead."""

    code: str
    words: str


@dataclass(frozen=True, slots=True)
class Summary:
    """``n`` results, ``detects`` of them measured. ``median`` and ``p95`` are None where they lie among results below
    detection. ``mean_log``/``sd_log`` are of the natural logarithms, None where the method does not take logs.
    ``standard_error`` is that of the mean, None where the method gives none. ``convention`` says how it was done.
    """

    method: Method
    convention: str
    n: int
    detects: int
    mean: float
    sd: float
    median: float | None
    p95: float | None
    mean_log: float | None = None
    sd_log: float | None = None
    standard_error: float | None = None


def summarise(
    values: Floats, below: Bools, method: Method, leftover: Leftover = Leftover.LOWEST_LIMIT
) -> Summary | Refusal:
    """Mean, standard deviation, median and 95th percentile of ``values`` [n], in their unit.

    ``below`` [n] marks results below detection, whose value is their limit. ``leftover`` only concerns Kaplan-Meier.
    ValueError for arrays of unequal length or values that are not finite.
    """
    refusal = refused(values, below, method)
    if refusal is not None:
        return refusal
    if method is Method.KAPLAN_MEIER:
        return _by_kaplan_meier(values, below, leftover)
    return _by_ros(values, below) if method is Method.ROS else _by_likelihood(values, below)


def refused(values: Floats, below: Bools, method: Method) -> Refusal | None:
    """The reason why these data carry no summary by ``method``; None if they do."""
    if values.ndim != 1 or values.shape != below.shape or not np.isfinite(values).all():
        raise ValueError("values and marks must be one-dimensional, of equal length, and finite")
    if not len(values):
        return Refusal("no_results", "There are no results.")
    detects = values[~below]
    largest = float(values[below].max(initial=-inf))
    if not len(detects):
        return Refusal("all_below", f"All results are below detection: report “< {in_digits(largest)}”.")
    if len(detects) == 1:
        return Refusal(
            "one_detect", f"Only one result was measured ({in_digits(detects[0])}); one value has no spread."
        )
    share = float(below.mean())
    if share > MAX_CENSORED:
        return Refusal("mostly_below", f"{share:.0%} of the results are below detection; a mean needs 20 % measured.")
    if largest > float(detects.max()):
        return Refusal("limit_above_detects", f"A limit of {in_digits(largest)} lies above every measured result.")
    if method is not Method.KAPLAN_MEIER and float(values.min()) <= 0.0:
        return Refusal("not_positive", "Logarithms need results above zero.")
    if float(np.ptp(detects)) == 0.0:
        return Refusal("no_spread", "All measured results are equal.")
    return None


# Kaplan-Meier


@dataclass(frozen=True, slots=True)
class KaplanMeierSteps:
    """The distribution as Kaplan-Meier sees it: ``mass`` at ``x`` (both [k], ascending), and ``cdf`` just above x.

    ``at_risk``/``hits`` [k]: results at or below x, and detects at x (0 for leftover mass). ``left``: the mass below
    the smallest detect, which the data do not place.
    """

    x: Floats
    mass: Floats
    cdf: Floats
    at_risk: Ints
    hits: Ints
    left: float


def kaplan_meier(values: Floats, below: Bools, leftover: Leftover = Leftover.LOWEST_LIMIT) -> KaplanMeierSteps:
    """The product-limit estimate of left-censored data: the usual one after flipping x to M − x, for any M.

    From the top down, F just below a detect is F at it times (1 − detects at it / results at or below it); a limit
    equal to a detect lies below it. What is left below the smallest detect goes to the lowest limit or to the
    smallest detect, as ``leftover`` says.
    """
    x, hits = np.unique(values[~below], return_counts=True)
    ordered = np.sort(values)
    at_risk = np.searchsorted(ordered, x, side="right")
    stays = 1.0 - hits / at_risk
    cdf = np.append(np.cumprod(stays[::-1])[::-1][1:], 1.0)
    mass = cdf - cdf * stays
    left = float(cdf[0] * stays[0])
    lowest = float(values[below].min(initial=inf))
    if leftover is Leftover.LOWEST_LIMIT and lowest < x[0]:
        x, mass, cdf = np.append(lowest, x), np.append(left, mass), np.append(left, cdf)
        at_risk, hits = np.append(0, at_risk), np.append(0, hits)
    else:
        mass[0] += left
    return KaplanMeierSteps(x, mass, cdf, at_risk, hits, left)


def _by_kaplan_meier(values: Floats, below: Bools, leftover: Leftover) -> Summary:
    steps = kaplan_meier(values, below, leftover)
    mean = float(steps.mass @ steps.x)
    sd = sqrt(float(steps.mass @ (steps.x - mean) ** 2))
    where = "lowest limit" if leftover is Leftover.LOWEST_LIMIT else "smallest detect"
    return Summary(
        Method.KAPLAN_MEIER,
        f"Kaplan-Meier on flipped data, mass below the smallest detect at the {where}; "
        "standard deviation of that distribution (divided by n); standard error after Greenwood with √(d/(d − 1))",
        len(values),
        int((~below).sum()),
        mean,
        sd,
        _step_quantile(steps, 0.5),
        _step_quantile(steps, 0.95),
        standard_error=_greenwood(steps, int((~below).sum())),
    )


def _step_quantile(steps: KaplanMeierSteps, p: float) -> float | None:
    """The smallest x with F(x) ≥ p, unless it lies in the mass that the data do not place."""
    noise = 1e-12
    return None if p <= steps.left + noise else float(steps.x[np.searchsorted(steps.cdf, p - noise)])


def _greenwood(steps: KaplanMeierSteps, detects: int) -> float:
    """Standard error of the Kaplan-Meier mean: √(d/(d−1) · Σ A²·h/(r·(r−h))), A the area under F left of x."""
    area = np.concatenate([[0.0], np.cumsum(steps.cdf[:-1] * np.diff(steps.x))])
    counts = (steps.hits > 0) & (steps.at_risk > steps.hits)
    h, r = steps.hits[counts], steps.at_risk[counts]
    return sqrt(float(np.sum(area[counts] ** 2 * h / (r * (r - h)))) * detects / (detects - 1))


# Robust regression on order statistics


def plotting_positions(values: Floats, below: Bools) -> Floats:
    """Plotting positions [n] of Hirsch and Stedinger (1987) with Weibull's rule (a = 0), in the order of ``values``.

    Results between two neighbouring limits share the probability between their exceedance probabilities (C-04, C-19);
    those below a limit share what lies under it.
    """
    limits, exceeded = exceedance(values, below)
    cohort = np.searchsorted(limits, values, side="right") - 1
    upper = np.append(exceeded[1:], 0.0)
    positions = np.empty(len(values))
    for k in range(len(limits)):
        detects, censored = np.flatnonzero(~below & (cohort == k)), np.flatnonzero(below & (values == limits[k]))
        step = (exceeded[k] - upper[k]) / (len(detects) + 1)
        positions[detects] = 1 - exceeded[k] + step * _ranks(values[detects])
        positions[censored] = (1 - exceeded[k]) * np.arange(1, len(censored) + 1) / (len(censored) + 1)
    return positions


def exceedance(values: Floats, below: Bools) -> tuple[Floats, Floats]:
    """The distinct limits [k], ascending and begun with −∞, and the estimated probability [k] of exceeding each."""
    limits = np.append(-inf, np.unique(values[below]))
    exceeded = np.ones(len(limits))
    above = 0.0
    for k in range(len(limits) - 1, 0, -1):
        top = limits[k + 1] if k + 1 < len(limits) else inf
        between = int(np.sum(~below & (values >= limits[k]) & (values < top)))
        under = int(np.sum((~below & (values < limits[k])) | (below & (values <= limits[k]))))
        above = exceeded[k] = above + (1 - above) * between / (between + under)
    return limits, exceeded


def _ranks(values: Floats) -> Floats:
    """1 … n in ascending order; equal values in the order given."""
    ranks = np.empty(len(values))
    ranks[np.argsort(values, kind="stable")] = np.arange(1, len(values) + 1)
    return ranks


def ros_values(values: Floats, below: Bools) -> Floats:
    """``values`` [n] with each result below detection replaced by its place on the line through the log detects."""
    z = ndtri(plotting_positions(values, below))
    slope, intercept = np.polyfit(z[~below], np.log(values[~below]), 1)
    return np.where(below, np.exp(intercept + slope * z), values)


def _by_ros(values: Floats, below: Bools) -> Summary:
    filled = ros_values(values, below)
    logs = np.log(filled)
    return Summary(
        Method.ROS,
        "robust regression on order statistics of the logarithms, plotting positions after Hirsch and Stedinger "
        "(Weibull); standard deviation divided by n − 1; filled-in values serve the summary only",
        len(values),
        int((~below).sum()),
        float(filled.mean()),
        float(filled.std(ddof=1)),
        float(np.quantile(filled, 0.5)),
        float(np.quantile(filled, 0.95)),
        float(logs.mean()),
        float(logs.std(ddof=1)),
    )


# Lognormal maximum likelihood


def _by_likelihood(values: Floats, below: Bools) -> Summary:
    mu, sigma = censored_normal(np.log(values), below)
    mean = exp(mu + sigma**2 / 2)
    return Summary(
        Method.MLE,
        "lognormal maximum likelihood; mean and standard deviation of the fitted distribution, no bias correction",
        len(values),
        int((~below).sum()),
        mean,
        mean * sqrt(exp(sigma**2) - 1),
        exp(mu),
        exp(mu + float(ndtri(0.95)) * sigma),
        mu,
        sigma,
    )


def censored_normal(y: Floats, below: Bools) -> tuple[float, float]:
    """Maximum-likelihood mean and standard deviation of normal ``y`` [n], left-censored where ``below``.

    In α = 1/σ and β = μ/σ the log-likelihood is concave (Olsen 1978), so that there is one maximum, which a trust
    region finds. ``y`` is centred and scaled first, so that its unit does not matter.
    """
    from scipy.optimize import minimize, root  # late: they take their time to load, and few pages ask

    centre, scale = float(y[~below].mean()), float(y[~below].std())
    fit = _CensoredFit((y[~below] - centre) / scale, (y[below] - centre) / scale)
    near = minimize(fit.loss, (1.0, 0.0), jac=fit.gradient, hess=fit.hessian, method="trust-exact").x
    a, b = root(fit.gradient, near, jac=fit.hessian, tol=1e-13).x.tolist()  # to the last digits
    return centre + scale * b / a, scale / a


@dataclass(frozen=True, eq=False)
class _CensoredFit:
    """Minus the log-likelihood of (α, β), with its derivatives: detects ``measured``, and ``limits`` of the others."""

    measured: Floats
    limits: Floats

    def loss(self, at: Floats) -> float:
        a, b = at
        if a <= 0:
            return inf
        tail = float(log_ndtr(a * self.limits - b).sum())
        return float(np.sum((a * self.measured - b) ** 2)) / 2 - len(self.measured) * log(a) - tail

    def gradient(self, at: Floats) -> Floats:
        a, b = at
        residual, mills = a * self.measured - b, self._mills(at)
        by_a = residual @ self.measured - len(self.measured) / a - mills @ self.limits
        return np.array([by_a, mills.sum() - residual.sum()])

    def hessian(self, at: Floats) -> Floats:
        a, b = at
        mills = self._mills(at)
        bend = mills * (a * self.limits - b + mills)
        cross = -float(self.measured.sum() + bend @ self.limits)
        by_a = len(self.measured) / a**2 + self.measured @ self.measured + bend @ self.limits**2
        return np.array([[by_a, cross], [cross, len(self.measured) + bend.sum()]])

    def _mills(self, at: Floats) -> Floats:
        """φ(z)/Φ(z), also far to the left."""
        z = at[0] * self.limits - at[1]
        ratio: Floats = sqrt(2 / pi) / erfcx(-z / sqrt(2))
        return ratio
