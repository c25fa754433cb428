"""Means over the time a place is in use, of a day and of a whole stay (docs/methods/averages.md#time-of-use)."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from methods.averages.occupancy import OccupiedDay
from methods.averages.reach import MIN_COVERAGE
from methods.averages.rivals import Rivals, Within
from methods.averages.series import Series, Times
from methods.averages.windows import MIN_READINGS, Window, window
from methods.quantities.arrays import Bools, Ints


@dataclass(frozen=True, slots=True)
class OccupiedMean:
    """The mean over the time of use of one day; ``window.minutes`` is that time alone, and coverage is of it."""

    day: date
    window: Window

    @property
    def is_enough(self) -> bool:
        """Three quarters of the time of use measured (R-01), by three readings at least."""
        return self.window.coverage >= MIN_COVERAGE - 1e-9 and self.window.n >= MIN_READINGS


def only(series: Series, days: Sequence[OccupiedDay]) -> Series:
    """The same readings, of which none stands for anything outside the time of use.

    Positions stay: a reading without a moment in it has no finite value any more, one at an edge is cut, and one that
    reaches over a pause stands for two stretches.
    """
    start, end = stretches(days)
    times = _cut(series.times, start, end)
    there: Bools = np.zeros(len(series.value), np.bool_)
    there[times.index] = True
    kept = replace(series, value=np.where(there, series.value, np.nan))
    kept.__dict__["times"] = times
    return kept


def stretches(days: Sequence[OccupiedDay]) -> tuple[Ints, Ints]:
    """Starts and ends of all of them, in order."""
    if not days:
        return np.empty(0, np.int64), np.empty(0, np.int64)
    return np.concatenate([day.start for day in days]), np.concatenate([day.end for day in days])


def _cut(times: Times, start: Ints, end: Ints) -> Times:
    first = np.searchsorted(times.hi, start, side="right")
    count = np.maximum(np.searchsorted(times.lo, end, side="left") - first, 0)
    which = np.repeat(np.arange(len(start)), count)
    before = np.cumsum(count) - count
    cell = np.arange(int(count.sum())) - before[which] + first[which]
    lo, hi = np.maximum(times.lo[cell], start[which]), np.minimum(times.hi[cell], end[which])
    over, length = times.over[cell], hi - lo
    return Times(lo, hi, length, times.index[cell], times.below[cell], over, _total(length), _total(over))


def _total(values: Ints | Bools) -> Ints:
    return np.concatenate([np.zeros(1, np.int64), np.cumsum(values, dtype=np.int64)])


def day_means(kept: Series, days: Sequence[OccupiedDay]) -> list[OccupiedMean]:
    """The days of which any reading of ``kept`` (``only`` of those days) stands for some time, in order."""
    means = ((day.day, _mean(kept, [day])) for day in days)
    return [OccupiedMean(day, mean) for day, mean in means if mean is not None]


def worst_day(
    days: Sequence[OccupiedMean], within: Callable[[float], Within], *, lowest: bool = False
) -> Window | None:
    """The highest (or ``lowest``) mean of a day, the earliest of equals; its rivals are the days that might have been
    it by chance, between which the nights lie. ``within``: by minutes of a mean, how far from it they may be."""
    sign = -1.0 if lowest else 1.0
    worst = max((day.window for day in days), key=lambda window: sign * window.mean, default=None)
    if worst is None:
        return None
    near = sign * worst.mean - within(worst.covered_minutes).distance
    others = sum(sign * day.window.mean >= near for day in days) - 1
    return replace(worst, rivals=Rivals(apart=others))


def stay_mean(kept: Series, days: Sequence[OccupiedDay]) -> Window | None:
    """The mean over all time of use within the series, as long as it lasted; None where no reading stands for any."""
    inside = [day.within(kept.start_ms, kept.end_ms) for day in days]
    return _mean(kept, [day for day in inside if len(day.start)])


def _mean(kept: Series, days: Sequence[OccupiedDay]) -> Window | None:
    if not days:
        return None
    start_ms, end_ms = int(days[0].start[0]), int(days[-1].end[-1])
    mean = window(kept, start_ms, end_ms)
    if mean is None:
        return None
    occupied_ms = sum(day.occupied_ms for day in days)
    return replace(
        mean,
        out_of_use_ms=end_ms - start_ms - occupied_ms,
        coverage=min(mean.coverage * (end_ms - start_ms) / occupied_ms, 1.0),
    )
