"""Simulated visits: air whose worst mean is known, a meter that is wrong in known ways, and what is made of its log."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from methods.averages import Series, ceiling, window, worst_window
from methods.averages.windows import Window
from methods.quantities.arrays import Floats
from methods.quantities.stamp_convention import StampConvention
from methods.uncertainty.budget import budget, coverage_part, noise_part, scatter
from methods.uncertainty.noise import Noise, noise_of
from methods.uncertainty.worst_of_many import choice, rival_distance
from methods.verdicts import Estimate


@dataclass(frozen=True)
class InventedMeter:
    """Standard uncertainties in ppm (``u_span`` relative), and the standard deviation of its single readings."""

    name: str
    u_zero: float
    u_span: float
    noise: float


#: Invented: an electrochemical handheld as one finds them, and one that is looked after in a laboratory.
ORDINARY = InventedMeter("ordinary", 0.004, 0.05, 0.006)
GOOD = InventedMeter("good", 0.001, 0.02, 0.002)


@dataclass(frozen=True)
class Visit:
    """``hours`` logged every ``interval_s``; the limit averages over ``window_min``, 0 for single readings.

    ``peaks``: how many stretches as long as the window are at the limit, the rest at a third of it; none: all of it.
    ``rho``: autocorrelation of the noise from reading to reading; ``told``: whether the response time says so.
    """

    meter: InventedMeter
    hours: float
    window_min: float
    interval_s: float
    rho: float = 0.0
    peaks: int = 0
    step: float = 0.001
    told: bool = True

    @property
    def readings(self) -> int:
        return round(self.hours * 3600 / self.interval_s)

    @property
    def per_window(self) -> int:
        return max(round(self.window_min * 60 / self.interval_s), 1)

    @property
    def t90_s(self) -> float | None:
        if not self.told:
            return None
        return self.interval_s * np.log(10) / -np.log(self.rho) if self.rho else 1.0

    def air(self, worst: float, rng: np.random.Generator) -> Floats:
        """Of which the worst mean over the window is ``worst``."""
        if not self.peaks:
            return np.full(self.readings, worst)
        out = np.full(self.readings, worst / 3)
        room = self.readings - self.peaks * self.per_window
        starts = np.sort(rng.integers(0, room + 1, self.peaks)) + self.per_window * np.arange(self.peaks)
        for start in starts:
            out[start : start + self.per_window] = worst
        return out

    def log(self, worst: float, rng: np.random.Generator) -> Series:
        """What the meter stores of it."""
        n = self.readings
        fresh = rng.standard_normal(n) * np.sqrt(1 - self.rho**2)
        fresh[0] = rng.standard_normal()
        noise = lfilter([1.0], [1.0, -self.rho], fresh) * self.meter.noise if self.rho else fresh * self.meter.noise
        zero, span = rng.normal(0, self.meter.u_zero), 1 + rng.normal(0, self.meter.u_span)
        shown = self.air(worst, rng) * span + zero + noise
        stored = np.round(shown / self.step) * self.step
        interval = round(self.interval_s * 1000)
        stamps = interval * np.arange(1, n + 1, dtype=np.int64)
        return Series(stamps, stored, np.zeros(n, np.int16), interval, 0, interval * n, StampConvention.END)


def estimate(visit: Visit, log: Series) -> Estimate:
    """As the app makes it of a log."""
    noise = noise_of(log, step=visit.step, t90_s=visit.t90_s)
    worst, rivals = _worst(visit, log, noise)
    values = log.value[worst.first : worst.last + 1]
    spread = scatter(values, log.flags[worst.first : worst.last + 1])
    parts = budget(
        worst.mean,
        (noise_part(noise, spread), coverage_part(worst.coverage, spread)),
        resolution=visit.step,
        zero_u=visit.meter.u_zero,
        span_u_rel=visit.meter.u_span,
        drift_u=0.0,
        temperature_u=0.0,
        interference_u=0.0,
    )
    return Estimate.of(worst, parts, choice(noise, worst.n, rivals))


def _worst(visit: Visit, log: Series, noise: Noise) -> tuple[Window, int]:
    if visit.window_min:
        worst = worst_window(log, visit.window_min, within=rival_distance(noise, log, visit.window_min))
        assert worst is not None
        return worst, worst.rivals
    top = ceiling(log, within=rival_distance(noise, log, visit.interval_s / 60))
    assert top is not None
    cell = window(log, int(log.cells.lo[top.index]), int(log.cells.hi[top.index]))
    assert cell is not None
    return cell, top.rivals
