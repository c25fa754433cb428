"""A group of similar exposure as a lognormal: its middle, its spread, its upper end, each with confidence bounds.

docs/methods/exposure.md. Values are full-shift or task exposures of one group, in one unit. What is believed of a
lognormal hangs on its being one: see ``methods.exposure.shape`` first.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from math import asin, exp, inf, isfinite, log, pi, sqrt
from statistics import NormalDist

import numpy as np

from methods.exposure.noncentral import covered_by, root, tolerance_factor
from methods.nondetects.summaries import Refusal
from methods.quantities.arrays import Floats

_NORMAL = NormalDist()
MIN_RESULTS = 3


@dataclass(frozen=True, slots=True)
class Bounds:
    """An estimate with one-sided confidence bounds, each at ``confidence``."""

    estimate: float
    lower: float
    upper: float
    confidence: float


class OfLogarithms:
    """What mean and standard deviation of the natural logarithms say of a lognormal, however they were found."""

    __slots__ = ()
    mean_log: float
    sd_log: float

    @property
    def gm(self) -> float:
        """Geometric mean."""
        return exp(self.mean_log)

    @property
    def gsd(self) -> float:
        """Geometric standard deviation."""
        return exp(self.sd_log)

    @property
    def mean(self) -> float:
        """Arithmetic mean of the fitted lognormal, exp(ȳ + s²/2)."""
        return exp(self.mean_log + self.sd_log**2 / 2)


@dataclass(frozen=True, slots=True)
class Lognormal(OfLogarithms):
    """``n`` results whose natural logarithms have mean ``mean_log`` and standard deviation ``sd_log`` (n − 1).

    ValueError unless both are finite, and the logarithms spread.
    """

    n: int
    mean_log: float
    sd_log: float

    def __post_init__(self) -> None:
        if not (isfinite(self.mean_log) and 0 < self.sd_log < inf):
            raise ValueError("the logarithms of a group have a finite mean and a spread")

    @property
    def mean_unbiased(self) -> float:
        """Minimum-variance unbiased estimate of the arithmetic mean, Finney's series (1941)."""
        n, half = self.n, self.sd_log**2 / 2
        term = total = 1.0
        factor = (n - 1) * half / n
        k = 1
        while abs(term) > 1e-16 * total:
            # The k-th term is (n−1)^(2k−1)·half^k / (k!·n^k·(n+1)(n+3)…(n+2k−3)).
            term *= factor if k == 1 else factor * (n - 1) / (k * (n + 2 * k - 3))
            total += term
            k += 1
        return exp(self.mean_log) * total

    def percentile(self, p: float = 0.95) -> float:
        """The ``p`` quantile, exp(ȳ + z·s)."""
        return exp(self.mean_log + _NORMAL.inv_cdf(p) * self.sd_log)

    def tolerance_limit(self, coverage: float = 0.95, confidence: float = 0.95) -> float:
        """Upper tolerance limit exp(ȳ + K·s): above ``coverage`` of the exposures with ``confidence`` (L-10)."""
        return exp(self.mean_log + tolerance_factor(self.n, coverage, confidence) * self.sd_log)

    def percentile_bounds(self, p: float = 0.95, confidence: float = 0.95) -> Bounds:
        """The ``p`` quantile with its bounds: the tolerance limits at ``confidence`` and at its complement."""
        return Bounds(
            self.percentile(p),
            self.tolerance_limit(p, 1 - confidence),
            self.tolerance_limit(p, confidence),
            confidence,
        )

    def exceedance(self, limit: float, confidence: float = 0.95) -> Bounds:
        """The fraction of exposures above ``limit``, the inverse of the tolerance limit (L-11, L-12). ValueError for a
        limit that is no finite number above zero."""
        if not 0 < limit < inf:
            raise ValueError("a limit is a finite number above zero")
        u = (log(limit) - self.mean_log) / self.sd_log
        return Bounds(
            1 - _NORMAL.cdf(u),
            1 - covered_by(u, self.n, 1 - confidence),
            1 - covered_by(u, self.n, confidence),
            confidence,
        )

    def mean_bounds(self, confidence: float = 0.95) -> Bounds:
        """The arithmetic mean with Land's exact one-sided bounds (Land 1971).

        Given θ = μ + σ²/2, the mean square about θ is all the data say of σ², and given that the place of ȳ has the
        density (1 − u²)^((n−3)/2)·exp(−n·r·u/2) on [−1, 1], with r the root of the mean square and u = (ȳ − θ)/r. The
        bounds are the θ at which the observed u is as low, or as high, as ``confidence`` allows.
        """
        return Bounds(self.mean, exp(self._land(confidence)), exp(self._land(1 - confidence)), confidence)

    def _land(self, p: float) -> float:
        def low(theta: float) -> float:
            return p - self.land_level(theta)

        middle = self.mean_log + self.sd_log**2 / 2
        return root(low, middle - self.sd_log, middle + self.sd_log)

    def land_level(self, theta: float) -> float:
        """P(U ≤ u) of Land's conditional distribution if the logarithm of the true mean were ``theta``; rises to 1 as
        ``theta`` falls."""
        n = self.n
        r = sqrt((n - 1) / n * self.sd_log**2 + (self.mean_log - theta) ** 2)
        u = min(1.0, max(-1.0, (self.mean_log - theta) / r))
        # u = sin φ takes the ends' roots out of the density; the exponent is shifted so that its largest value is 1.
        phi = asin(u)
        peak = _land_peak(n, r)
        below, above = _land_area(n, r, peak, -pi / 2, phi), _land_area(n, r, peak, phi, pi / 2)
        return below / (below + above)


def _land_peak(n: int, r: float) -> float:
    """Where (n−2)·ln cos φ − n·r·sin φ/2 is largest: a root of a quadratic in sin φ."""
    b = n * r / 2
    return asin((n - 2 - sqrt((n - 2) ** 2 + 4 * b**2)) / (2 * b)) if b else 0.0


def _land_area(n: int, r: float, peak: float, start: float, stop: float) -> float:
    """∫ cos^(n−2) φ · exp(−n·r·sin φ/2) dφ, up to a factor, by Gauss-Legendre in pieces around the peak."""
    width = 1 / sqrt(max(n * r / 2, n - 2, 1))
    edges = [start, *(e for k in (-8, -2, 0, 2, 8) if start < (e := peak + k * width) < stop), stop]
    top = (n - 2) * log(max(np.cos(peak), 1e-300)) - n * r / 2 * np.sin(peak)
    nodes, weights = _legendre(60)
    total = 0.0
    for a, b in pairwise(edges):
        phi = (b - a) / 2 * nodes + (a + b) / 2
        exponent = (n - 2) * np.log(np.maximum(np.cos(phi), 1e-300)) - n * r / 2 * np.sin(phi) - top
        total += float((b - a) / 2 * np.sum(weights * np.exp(exponent)))
    return total


@cache
def _legendre(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights of Gauss and Legendre on [−1, 1]."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def fit(values: Floats) -> Lognormal | Refusal:
    """The lognormal of ``values`` [n], all measured. For groups with results below detection take the logarithms' mean
    and standard deviation from ``methods.nondetects.summaries`` and say so. ValueError unless all are finite."""
    if values.ndim != 1 or not np.isfinite(values).all():
        raise ValueError("results are finite numbers, one after the other")
    if len(values) < MIN_RESULTS:
        return Refusal("too_few", f"{len(values)} results; a group needs {MIN_RESULTS} at least.")
    if float(np.min(values)) <= 0.0:
        return Refusal("not_positive", "Logarithms need results above zero.")
    logs = np.log(values)
    if float(np.ptp(logs)) == 0.0:
        return Refusal("no_spread", "All results are equal.")
    return Lognormal(len(values), float(logs.mean()), float(logs.std(ddof=1)))
