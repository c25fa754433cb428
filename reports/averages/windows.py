"""Means over windows of time: the worst rolling one, fixed blocks, and any given stretch (METHODS M6, M7)."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from reports.averages.series import MINUTE_MS, Float, Int, Series

#: Directive 2008/50/EC Annex VII A.2 (R-01): a mean needs 75 % of its time.
MIN_COVERAGE = 0.75
#: Project rule, no source: fewer than three readings show no spread.
MIN_READINGS = 3


@dataclass(frozen=True, slots=True)
class Window:
    """A time-weighted mean over [start_ms, end_ms) and what it rests on.

    ``mean`` takes readings below detection at their limit, and equals ``upper``; ``lower`` takes them at zero.
    ``first``/``last`` are positions in the series (both inclusive) of the outermost readings that enter, ``n`` counts
    the readings that enter, ``coverage`` is the share of the window they stand for. ``is_lower_bound``: a reading was
    over range, so the true mean may be higher than any figure here.
    """

    start_ms: int
    end_ms: int
    mean: float
    lower: float
    upper: float
    coverage: float
    n: int
    first: int
    last: int
    is_lower_bound: bool

    @property
    def minutes(self) -> float:
        return (self.end_ms - self.start_ms) / MINUTE_MS

    @property
    def covered_minutes(self) -> float:
        return self.minutes * self.coverage

    @property
    def is_censored(self) -> bool:
        """Whether readings below detection leave the mean open between ``lower`` and ``upper``."""
        return self.lower < self.upper


@dataclass(frozen=True, slots=True)
class _Sums:
    """Per window k: covered ms, means at both ends of the censoring, first and last cell, any over range, readings."""

    covered: Int
    upper: Float
    lower: Float
    first: Int
    last: Int
    over: NDArray[np.bool_]
    n: Int


def _sums(series: Series, start: Int, end: Int) -> _Sums:
    """Means over [start_k, end_k), by prefix sums: O((n + k) log n) time, exact at the window's edges."""
    cells = series.cells
    first = np.searchsorted(cells.hi, start, side="right").astype(np.int64)
    last = np.searchsorted(cells.lo, end, side="left").astype(np.int64) - 1
    held = last >= first
    f, b = np.where(held, first, 0), np.where(held, last, 0)
    head = np.maximum(start - cells.lo[f], 0)
    tail = np.maximum(cells.hi[b] - end, 0)
    covered = np.where(held, cells.total_ms[b + 1] - cells.total_ms[f] - head - tail, 0)
    known = np.maximum(covered, 1)

    def mean(total: Float, value: Float) -> Float:
        inside = total[b + 1] - total[f] - head * (value[f] - cells.centre) - tail * (value[b] - cells.centre)
        return np.where(covered > 0, cells.centre + inside / known, np.nan)

    upper = mean(cells.total_value, cells.value)
    lower = upper if cells.total_low is cells.total_value else mean(cells.total_low, cells.low)
    over = held & (cells.total_over[b + 1] > cells.total_over[f])
    return _Sums(covered, upper, lower, first, last, over, np.maximum(last - first + 1, 0))


def _window(series: Series, sums: _Sums, k: int, start: int, end: int) -> Window:
    index = series.cells.index
    upper, lower = float(sums.upper[k]), float(sums.lower[k])
    return Window(
        start_ms=start,
        end_ms=end,
        mean=upper,
        lower=min(lower, upper),
        upper=upper,
        coverage=float(sums.covered[k]) / (end - start),
        n=int(sums.n[k]),
        first=int(index[sums.first[k]]),
        last=int(index[sums.last[k]]),
        is_lower_bound=bool(sums.over[k]),
    )


def _accepted(sums: _Sums, length: int, min_coverage: float, min_readings: int) -> NDArray[np.bool_]:
    # A microsecond of slack: 0.75 of a window is not always a whole number of ms in binary.
    return (sums.covered >= min_coverage * length - 1e-3) & (sums.n >= max(min_readings, 1))


def window(series: Series, start_ms: int, end_ms: int) -> Window | None:
    """The mean over one given stretch, whatever its coverage; None when no reading stands for any of it."""
    if end_ms <= start_ms:
        raise ValueError("a window must end after it starts")
    if not len(series.cells.index):
        return None
    sums = _sums(series, np.array([start_ms], np.int64), np.array([end_ms], np.int64))
    return _window(series, sums, 0, start_ms, end_ms) if sums.covered[0] else None


def whole(series: Series) -> Window | None:
    """The mean over the whole deployment."""
    return window(series, series.start_ms, series.end_ms)


def best_coverage(series: Series, minutes: float) -> tuple[float, int]:
    """Minutes covered, and number of readings, in the best covered window of ``minutes``; if the series is shorter, in
    the whole of it."""
    length = min(_length_ms(minutes), series.end_ms - series.start_ms)
    if not len(series.cells.index):
        return 0.0, 0
    ends = _window_ends(series, length)
    sums = _sums(series, ends - length, ends)
    k = int(np.lexsort((sums.n, sums.covered))[-1])
    return int(sums.covered[k]) / MINUTE_MS, int(sums.n[k])


def _length_ms(minutes: float) -> int:
    length = round(minutes * MINUTE_MS)
    if length <= 0:
        raise ValueError("a window must be longer than nothing")
    return length


def _window_ends(series: Series, length: int) -> Int:
    """Ends of windows fully inside the series: where a reading's stretch ends, and at the deployment's two edges."""
    ends = np.concatenate([series.cells.hi, [series.start_ms + length, series.end_ms]])
    return ends[(ends - length >= series.start_ms) & (ends <= series.end_ms)]


def worst_window(
    series: Series,
    minutes: float,
    min_coverage: float = MIN_COVERAGE,
    min_readings: int = MIN_READINGS,
    *,
    lowest: bool = False,
) -> Window | None:
    """The highest (or ``lowest``) rolling mean of ``minutes`` that lies fully inside the series; None if there is none.

    Windows end where a reading's stretch ends, and at the two edges of the deployment, so that a visit exactly as
    long as the window has one. ``lower``/``upper`` bound the worst *rolling mean*, which with readings below
    detection may be a different window at each end; times, coverage and positions are those of the one with the
    highest upper bound. Of equal windows the earliest is taken. Coverage: R-01 of the check values (Directive
    2008/50/EC Annex VII). 2 M readings take a fraction of a second.
    """
    length = _length_ms(minutes)
    if not len(series.cells.index) or length > series.end_ms - series.start_ms:
        return None
    ends = _window_ends(series, length)
    sums = _sums(series, ends - length, ends)
    accepted = _accepted(sums, length, min_coverage, min_readings)
    if not accepted.any():
        return None
    sign = -1.0 if lowest else 1.0
    k = _earliest_worst(sign * np.where(accepted, sums.upper, np.nan), ends)
    end = int(ends[k])
    found = _window(series, sums, k, end - length, end)
    low = sign * float(np.max(sign * sums.lower[accepted]))
    return replace(found, lower=min(low, found.upper), is_lower_bound=bool(sums.over[accepted].any()))


def _earliest_worst(score: Float, ends: Int) -> int:
    """Position of the earliest among the highest scores; scores closer than rounding noise count as equal."""
    best = float(np.nanmax(score))
    noise = 1e-12 * max(abs(best), float(np.nanmax(np.abs(score))))
    equal = np.flatnonzero(score >= best - noise)
    return int(equal[np.argmin(ends[equal])])


def blocks(
    series: Series,
    minutes: float,
    origin_ms: int | None = None,
    min_coverage: float = MIN_COVERAGE,
    min_readings: int = 1,
) -> list[Window]:
    """Consecutive means of ``minutes``, in order, counted from ``origin_ms`` (the deployment's start if None).

    Only blocks fully inside the series and covered as required are given; a block that is missing is missing.
    """
    length = _length_ms(minutes)
    origin = series.start_ms if origin_ms is None else origin_ms
    begin = origin + -(-(series.start_ms - origin) // length) * length
    starts = np.arange(begin, series.end_ms - length + 1, length, dtype=np.int64)
    if not len(series.cells.index) or not len(starts):
        return []
    sums = _sums(series, starts, starts + length)
    return _windows(series, sums, starts, length, _accepted(sums, length, min_coverage, min_readings))


def _windows(series: Series, sums: _Sums, starts: Int, length: int, kept: NDArray[np.bool_]) -> list[Window]:
    """Many windows at once: arrays become plain numbers column by column, which is ten times faster than one by one."""
    index, upper = series.cells.index, sums.upper[kept]
    columns = (
        starts[kept],
        starts[kept] + length,
        upper,
        np.minimum(sums.lower[kept], upper),
        upper,
        sums.covered[kept] / length,
        sums.n[kept],
        index[sums.first[kept]],
        index[sums.last[kept]],
        sums.over[kept],
    )
    return [Window(*row) for row in zip(*(column.tolist() for column in columns), strict=True)]
