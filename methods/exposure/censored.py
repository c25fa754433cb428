"""A group of similar exposure of which some results are below detection: bounds that cover (docs/methods/exposure.md).

Bounds are those of the profile likelihood. Its usual critical value, from the normal distribution, covers too little in
small groups; here it is the one that would be exact for as many complete results as there are measured ones: that of
the non-central t for percentiles, Land's for the mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import exp, inf, log, sqrt

import numpy as np
from scipy.special import erfcx, log_ndtr, ndtr, ndtri

from methods.exposure.lognormal import MIN_RESULTS, Bounds, Lognormal, OfLogarithms
from methods.exposure.noncentral import factor_at, root
from methods.nondetects.summaries import Method, Refusal, censored_normal, refused
from methods.quantities.arrays import Bools, Floats

#: Above this share below detection what is said of the group rests more on the lognormal than on what was measured.
MOSTLY_CENSORED = 0.5
MILLS = sqrt(2 / np.pi)


@dataclass(frozen=True, eq=False)
class CensoredLognormal(OfLogarithms):
    """Natural logarithms of the measured results ``measured`` [d] and of the limits of the others ``limits`` [n − d];
    ``mean_log`` and ``sd_log`` by maximum likelihood."""

    measured: Floats
    limits: Floats
    mean_log: float
    sd_log: float

    @property
    def n(self) -> int:
        return len(self.measured) + len(self.limits)

    @property
    def share_below(self) -> float:
        return len(self.limits) / self.n

    @cached_property
    def highest(self) -> float:
        """The log-likelihood at its maximum."""
        return self._likelihood(1 / self.sd_log, self.mean_log / self.sd_log)

    def percentile(self, p: float = 0.95) -> float:
        return exp(self.mean_log + float(ndtri(p)) * self.sd_log)

    def percentile_bounds(self, p: float = 0.95, confidence: float = 0.95) -> Bounds:
        """The ``p`` quantile with its bounds, each at ``confidence``; the upper one is the tolerance limit."""
        z, d = float(ndtri(p)), len(self.measured)
        middle = self.mean_log + z * self.sd_log

        def end(level: float) -> float:
            wanted = critical(d, z, level)
            return exp(root(lambda at: wanted - self.signed_root(at, z), middle - self.sd_log, middle + self.sd_log))

        return Bounds(exp(middle), end(1 - confidence), end(confidence), confidence)

    def exceedance(self, limit: float, confidence: float = 0.95) -> Bounds:
        """The fraction above ``limit``: one less the coverage of which ``limit`` is the bound. ValueError for a limit
        that is no finite number above zero."""
        if not 0 < limit < inf:
            raise ValueError("a limit is a finite number above zero")
        at, d = log(limit), len(self.measured)
        middle = (at - self.mean_log) / self.sd_log

        def share(level: float) -> float:
            return float(ndtr(-root(lambda z: self.signed_root(at, z) - critical(d, z, level), middle - 1, middle + 1)))

        return Bounds(float(ndtr(-middle)), share(1 - confidence), share(confidence), confidence)

    def mean_bounds(self, confidence: float = 0.95) -> Bounds:
        """The arithmetic mean with its bounds, each at ``confidence``."""
        complete = _complete(len(self.measured), self.sd_log)
        exact = complete.as_lognormal.mean_bounds(confidence)
        middle = self.mean_log + self.sd_log**2 / 2

        def end(bound: float) -> float:
            wanted = complete.mean_root(log(bound))
            return exp(root(lambda at: wanted - self.mean_root(at), middle - self.sd_log, middle + self.sd_log))

        return Bounds(self.mean, end(exact.lower), end(exact.upper), confidence)

    # --- likelihood ---------------------------------------------------------------------------------------------------

    def signed_root(self, at: float, z: float) -> float:
        """±√(2·(highest log-likelihood less that where μ + z·σ = ``at``)): positive below the estimate, negative above.

        With a = 1/σ every argument is a straight line in a, so the likelihood is concave and Newton finds its maximum.
        """
        measured, limits = self.measured - at, self.limits - at
        a = 1 / self.sd_log
        for _ in range(60):
            standard, tail = a * measured + z, a * limits + z
            mills = MILLS / erfcx(-tail / sqrt(2))
            slope = len(measured) / a - float(measured @ standard) + float(limits @ mills)
            bend = -len(measured) / a**2 - float(measured @ measured) - float(limits**2 @ (mills * (tail + mills)))
            step = -slope / bend
            a = a + step if a + step > a / 4 else a / 4
            if abs(step) < 1e-11 * a:
                break
        return self._root(self.mean_log + z * self.sd_log - at, self._likelihood(a, a * at - z))

    def mean_root(self, at: float) -> float:
        """The same where μ + σ²/2 = ``at``."""
        from scipy.optimize import minimize_scalar  # late: it takes its time to load, and few pages ask

        def loss(log_sd: float) -> float:
            sd = exp(log_sd)
            return -self._likelihood(1 / sd, (at - sd**2 / 2) / sd)

        middle = log(self.sd_log)
        best = minimize_scalar(loss, bounds=(middle - 4, middle + 3), method="bounded", options={"xatol": 1e-9})
        return self._root(self.mean_log + self.sd_log**2 / 2 - at, -float(best.fun))

    def _root(self, distance: float, likelihood: float) -> float:
        return float(np.copysign(sqrt(2 * max(self.highest - likelihood, 0.0)), distance))

    def _likelihood(self, a: float, b: float) -> float:
        """At 1/σ = ``a`` and μ/σ = ``b``."""
        standard = a * self.measured - b
        return len(self.measured) * log(a) - float(standard @ standard) / 2 + float(log_ndtr(a * self.limits - b).sum())

    @property
    def as_lognormal(self) -> Lognormal:
        """Of complete results: with the standard deviation divided by n − 1."""
        return Lognormal(self.n, self.mean_log, self.sd_log * sqrt(self.n / (self.n - 1)))


def fit_censored(values: Floats, below: Bools) -> CensoredLognormal | Refusal:
    """The lognormal of ``values`` [n], of which those marked in ``below`` [n] are limits."""
    refusal = refused(values, below, Method.MLE)
    if refusal is not None:
        return refusal
    if (detects := int((~below).sum())) < MIN_RESULTS:
        return Refusal("few_detects", f"Only {detects} results were measured; bounds need {MIN_RESULTS}.")
    logs = np.log(values)
    return CensoredLognormal(logs[~below], logs[below], *censored_normal(logs, below))


@lru_cache(maxsize=4096)
def critical(d: int, z: float, level: float) -> float:
    """The signed root at the bound of μ + z·σ that the non-central t gives ``d`` complete results at ``level``."""
    complete = _complete(d, 1.0)
    return complete.signed_root(factor_at(d, z, level) * complete.as_lognormal.sd_log, z)


def _complete(d: int, sd_log: float) -> CensoredLognormal:
    """``d`` results all measured, with mean 0 and that standard deviation (divided by d) of their logarithms."""
    scores = np.linspace(-1.0, 1.0, d)
    return CensoredLognormal(scores / scores.std() * sd_log, np.empty(0), 0.0, sd_log)
