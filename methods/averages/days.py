"""Means of the readings of one day: each reading counts once, however long it stands for (docs/methods/averages.md)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta, tzinfo

import numpy as np

from methods.averages.series import Series
from methods.averages.windows import Window
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment, utc_ms


@dataclass(frozen=True, slots=True)
class DayMean:
    """The usable readings of one day on the clock of the place.

    ``window``: from where the first of them begins to where the last one ends, with their plain mean. ``first_ms`` and
    ``last_ms``: the middle of the first and of the last reading.
    """

    day: date
    window: Window
    first_ms: int
    last_ms: int

    @property
    def apart_minutes(self) -> float:
        """From the first reading to the last."""
        return (self.last_ms - self.first_ms) / MINUTE_MS


def day_means(series: Series, zone: tzinfo) -> list[DayMean]:
    """The days of ``series`` that have a usable reading, in order. A reading belongs to the day in which the middle of
    its stretch lies. Readings below detection count at their limit and at zero, as ``Window`` says."""
    cells = series.cells
    if not len(cells.index):
        return []
    middle = (cells.lo + cells.hi) // 2
    days, begins = _days(int(middle[0]), int(middle[-1]), zone)
    edges = np.searchsorted(middle, begins, side="left")
    kept = np.flatnonzero(np.diff(edges) > 0)
    first, last = edges[:-1][kept], edges[1:][kept] - 1
    upper, lower = (_means(values, first, last, cells.centre) for values in (cells.value, cells.low))
    means = []
    for k, (a, b) in enumerate(zip(first.tolist(), last.tolist(), strict=True)):
        start, end = int(cells.lo[a]), int(cells.hi[b])
        window = Window(
            start_ms=start,
            end_ms=end,
            mean=float(upper[k]),
            lower=min(float(lower[k]), float(upper[k])),
            upper=float(upper[k]),
            coverage=int(cells.total_ms[b + 1] - cells.total_ms[a]) / (end - start),
            n=b - a + 1,
            first=int(cells.index[a]),
            last=int(cells.index[b]),
            is_lower_bound=bool(cells.total_over[b + 1] > cells.total_over[a]),
        )
        means.append(DayMean(days[int(kept[k])], window, int(middle[a]), int(middle[b])))
    return means


def _days(first_ms: int, last_ms: int, zone: tzinfo) -> tuple[list[date], Ints]:
    """Every day from one moment to another, and when each begins, with the one after the last; [k + 1] ms UTC."""
    begin, end = (utc_moment(ms).astimezone(zone).date() for ms in (first_ms, last_ms))
    days = [begin + timedelta(days=k) for k in range((end - begin).days + 1)]
    midnights = [datetime.combine(day, time.min, zone) for day in (*days, end + timedelta(days=1))]
    return days, np.array([utc_ms(midnight) for midnight in midnights], np.int64)


def _means(values: Floats, first: Ints, last: Ints, centre: float) -> Floats:
    """Plain means of values[first_k … last_k], summed around ``centre``, so that equal readings have exactly their
    value as mean."""
    total = np.concatenate([[0.0], np.cumsum(values - centre)])
    means: Floats = centre + (total[last + 1] - total[first]) / (last + 1 - first)
    return means
