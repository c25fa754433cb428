"""Simulated visits: air whose worst mean is known, a meter that is wrong in known ways, and what is made of its log."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date
from enum import StrEnum
from functools import partial

import numpy as np
from scipy.signal import lfilter

from methods.averages import Rivals, Series, ceiling, day_means, window, worst_window
from methods.averages.occupancy import OccupiedDay
from methods.averages.occupied import day_means as occupied_means
from methods.averages.occupied import only, worst_day
from methods.averages.windows import Window
from methods.quantities.arrays import Floats
from methods.quantities.durations import MINUTE_MS
from methods.quantities.stamp_convention import StampConvention
from methods.uncertainty.budget import Scatter, budget, coverage_part, noise_part, scatter
from methods.uncertainty.noise import Noise, noise_of
from methods.uncertainty.worst_of_many import Choice, choice, choice_of_apart, rivals_within
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


class OfDay(StrEnum):
    """What a limit on days takes the mean of."""

    READINGS = "the day's readings"
    IN_USE = "the day in use"


#: Hours of use of each day, and those before them.
DAY_H, IN_USE_H, BEGINS_H = 24, 9, 8


@dataclass(frozen=True)
class Visit:
    """``hours`` logged every ``interval_s``; the limit averages over ``window_min``, 0 for single readings; or, where
    ``of_day`` says so, over days, of which the worst counts.

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
    of_day: OfDay | None = None

    @property
    def readings(self) -> int:
        return round(self.hours * 3600 / self.interval_s)

    @property
    def per_window(self) -> int:
        minutes = DAY_H * 60 if self.of_day else self.window_min
        return max(round(minutes * 60 / self.interval_s), 1)

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
        if self.of_day:
            days = self.readings // self.per_window
            out.reshape(days, self.per_window)[rng.choice(days, self.peaks, replace=False)] = worst
            return out
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
    if visit.of_day is OfDay.READINGS:
        days = [day.window for day in day_means(log, UTC)]
        worst = max(days, key=lambda day: day.mean)
        part = noise_part(noise, _spread(log, worst))
        chosen = choice_of_apart([day.mean for day in days], part.u, part.dof)
        return _estimate(visit, log, worst, noise, chosen)
    worst, rivals = _in_use(log, noise) if visit.of_day else _worst(visit, log, noise)
    return _estimate(visit, log, worst, noise, choice(noise, worst.n, *rivals))


def _spread(log: Series, worst: Window) -> Scatter:
    inside = slice(worst.first, worst.last + 1)
    counts = log.usable[inside]
    return scatter(log.value[inside][counts], log.flags[inside][counts])


def _in_use(log: Series, noise: Noise) -> tuple[Window, Rivals]:
    hour = 60 * MINUTE_MS
    begins = np.arange(log.start_ms, log.end_ms, DAY_H * hour, dtype=np.int64) + BEGINS_H * hour
    days = [
        OccupiedDay(date(2026, 9, 7 + k), np.array([begin]), np.array([begin + IN_USE_H * hour]))
        for k, begin in enumerate(begins)
    ]
    worst = worst_day(occupied_means(only(log, days), days), partial(rivals_within, noise, log))
    assert worst is not None
    return worst, worst.rivals


def _estimate(visit: Visit, log: Series, worst: Window, noise: Noise, chosen: Choice) -> Estimate:
    spread = _spread(log, worst)
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
    return Estimate.of(worst, parts, chosen)


def _worst(visit: Visit, log: Series, noise: Noise) -> tuple[Window, Rivals]:
    if visit.window_min:
        worst = worst_window(log, visit.window_min, within=rivals_within(noise, log, visit.window_min))
        assert worst is not None
        return worst, worst.rivals
    top = ceiling(log, within=rivals_within(noise, log, visit.interval_s / 60))
    assert top is not None
    cell = window(log, int(log.cells.lo[top.index]), int(log.cells.hi[top.index]))
    assert cell is not None
    return cell, top.rivals
