"""Means over windows of time: the worst rolling one, fixed blocks, and any given stretch.

Method: docs/methods/averages.md, docs/methods/nondetects.md.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from methods.averages.reach import MIN_COVERAGE, Reach, enough, reach_of, rolling
from methods.averages.rivals import ANYWHERE, NO_RIVALS, Rivals, Within, rivals_of
from methods.averages.series import Series
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import MINUTE_MS

#: Project rule, no source: fewer than three readings show no spread.
MIN_READINGS = 3


@dataclass(frozen=True, slots=True)
class Window:
    """A time-weighted mean over [start_ms, end_ms) and what it rests on.

    ``mean`` takes readings below detection at their limit, and equals ``upper``; ``lower`` takes them at zero.
    ``first``/``last`` are positions in the series (both inclusive) of the outermost readings that enter, ``n`` counts
    the readings that enter, ``coverage`` is the share of the window they stand for. ``is_lower_bound``: a reading was
    over range, so the true mean may be higher than any figure here. ``rivals``: of a worst window, the others that
    might have been it by chance. ``out_of_use_ms``: of a mean over the time of use, how much between
    its ends is none; ``minutes`` and ``coverage`` are without it.
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
    rivals: Rivals = NO_RIVALS
    out_of_use_ms: int = 0

    @property
    def minutes(self) -> float:
        return (self.end_ms - self.start_ms - self.out_of_use_ms) / MINUTE_MS

    @property
    def covered_minutes(self) -> float:
        return self.minutes * self.coverage

    def times(self, weight: float) -> Window:
        """The same stretch with its means weighted: what a shift makes of them."""
        return replace(self, mean=self.mean * weight, lower=self.lower * weight, upper=self.upper * weight)

    @property
    def is_censored(self) -> bool:
        """Whether readings below detection leave the mean open between ``lower`` and ``upper``."""
        return self.lower < self.upper


@dataclass(frozen=True, slots=True)
class _Means:
    """Per window k: the mean with readings below detection at their limit and at zero, NaN where nothing is covered;
    and whether a reading was over range."""

    upper: Floats
    lower: Floats
    over: Bools


def _means(series: Series, reach: Reach) -> _Means:
    cells = series.cells
    covered = np.where(reach.covered > 0, reach.covered, np.nan)

    def mean(total: Floats, value: Floats) -> Floats:
        first, last = reach.first, reach.last
        inside = total[last + 1] - total[first]
        inside -= reach.head * (value[first] - cells.centre)
        inside -= reach.tail * (value[last] - cells.centre)
        out: Floats = cells.centre + inside / covered
        return out

    upper = mean(cells.total_value, cells.value)
    lower = upper if cells.total_low is cells.total_value else mean(cells.total_low, cells.low)
    if cells.total_over[-1]:
        over = (reach.n > 0) & (cells.total_over[reach.last + 1] > cells.total_over[reach.first])
    else:
        over = np.zeros(len(upper), np.bool_)
    return _Means(upper, lower, over)


def _window(series: Series, reach: Reach, means: _Means, k: int, length: int) -> Window:
    index = series.cells.index
    upper, lower = float(means.upper[k]), float(means.lower[k])
    end = int(reach.end[k])
    return Window(
        start_ms=end - length,
        end_ms=end,
        mean=upper,
        lower=min(lower, upper),
        upper=upper,
        coverage=float(reach.covered[k]) / length,
        n=int(reach.n[k]),
        first=int(index[reach.first[k]]),
        last=int(index[reach.last[k]]),
        is_lower_bound=bool(means.over[k]),
    )


def _accepted(reach: Reach, length: int, min_coverage: float, min_readings: int) -> Bools:
    there: Bools = (reach.covered >= enough(length, min_coverage)) & (reach.n >= max(min_readings, 1))
    return there


def window(series: Series, start_ms: int, end_ms: int) -> Window | None:
    """The mean over one given stretch, whatever its coverage; None when no reading stands for any of it."""
    if end_ms <= start_ms:
        raise ValueError("a window must end after it starts")
    cells = series.cells
    first = int(cells.hi.searchsorted(start_ms, side="right"))
    last = int(cells.lo.searchsorted(end_ms, side="left")) - 1
    if last < first:
        return None
    # as ``reach_of`` and ``_means`` do for many windows, in plain numbers, which for one are several times faster
    head = max(start_ms - int(cells.lo[first]), 0)
    tail = max(int(cells.hi[last]) - end_ms, 0)
    covered = int(cells.total_ms[last + 1] - cells.total_ms[first]) - head - tail
    if not covered:
        return None

    def mean(total: Floats, value: Floats) -> float:
        inside = total[last + 1] - total[first]
        inside -= head * (value[first] - cells.centre)
        inside -= tail * (value[last] - cells.centre)
        return float(cells.centre + inside / covered)

    upper = mean(cells.total_value, cells.value)
    lower = upper if cells.total_low is cells.total_value else mean(cells.total_low, cells.low)
    return Window(
        start_ms=start_ms,
        end_ms=end_ms,
        mean=upper,
        lower=min(lower, upper),
        upper=upper,
        coverage=covered / (end_ms - start_ms),
        n=last - first + 1,
        first=int(cells.index[first]),
        last=int(cells.index[last]),
        is_lower_bound=bool(cells.total_over[last + 1] > cells.total_over[first]),
    )


def whole(series: Series) -> Window | None:
    """The mean over the whole deployment."""
    return window(series, series.start_ms, series.end_ms)


def best_coverage(series: Series, minutes: float) -> tuple[float, int]:
    """Minutes covered, and number of readings, in the best covered window of ``minutes``; if the series is shorter, in
    the whole of it."""
    length = min(_length_ms(minutes), series.end_ms - series.start_ms)
    if not len(series.cells.index):
        return 0.0, 0
    reach = rolling(series, length)
    most = reach.covered.max()
    return int(most) / MINUTE_MS, int(reach.n[reach.covered == most].max())


def _length_ms(minutes: float) -> int:
    length = round(minutes * MINUTE_MS)
    if length <= 0:
        raise ValueError("a window must be longer than nothing")
    return length


def worst_window(
    series: Series,
    minutes: float,
    min_coverage: float = MIN_COVERAGE,
    min_readings: int = MIN_READINGS,
    *,
    lowest: bool = False,
    within: Within = ANYWHERE,
) -> Window | None:
    """The highest (or ``lowest``) rolling mean of ``minutes`` that lies fully inside the series; None if there is none.

    Among all windows, wherever they begin (``methods.averages.reach``): turning time round changes nothing.
    ``lower``/``upper`` bound the worst *rolling mean*, which with readings below detection may be a different window
    at each end; times, coverage and positions are those of the one with the highest upper bound. Of equal windows the
    earliest is taken. ``within``: which windows count among the ``rivals`` of the worst.
    Coverage: R-01 of the check values (Directive 2008/50/EC Annex VII). 2 M readings take a fraction of a second.
    """
    length = _length_ms(minutes)
    if not len(series.cells.index) or length > series.end_ms - series.start_ms:
        return None
    reach = rolling(series, length, min_coverage)
    accepted = _accepted(reach, length, min_coverage, min_readings)
    if not accepted.any():
        return None
    means = _means(series, reach)
    sign = -1.0 if lowest else 1.0
    k = _earliest_worst(sign * means.upper, accepted, reach.end)
    worst = _window(series, reach, means, k, length)
    low = sign * float(np.max(sign * means.lower[accepted]))
    # A window left out for its lower mean may truly be the highest if a reading in it was over range; not the lowest.
    over = worst.is_lower_bound if lowest else bool(means.over[accepted].any())
    near = accepted & (sign * means.upper >= sign * worst.mean - within.distance)
    return replace(
        worst, lower=min(low, worst.upper), is_lower_bound=over, rivals=_rivals(series, reach.last[near], within)
    )


def _rivals(series: Series, last: Ints, within: Within) -> Rivals:
    """By the readings that windows end with: two of them that move between the same readings are one to chance."""
    seen = np.zeros(len(series.cells.index), np.bool_)
    seen[last] = True
    return rivals_of(seen, within)


def _earliest_worst(score: Floats, accepted: Bools, ends: Ints) -> int:
    """Position of the earliest among the highest scores; scores closer than rounding noise count as equal."""
    there = score[accepted]
    best = float(there.max())
    noise = 1e-12 * max(abs(best), abs(float(there.min())))
    equal = np.flatnonzero(accepted & (score >= best - noise))
    return int(equal[np.argmin(ends[equal])])


@dataclass(frozen=True, slots=True)
class RollingMeans:
    """Rolling means [k] of one length, wherever the highest or lowest may lie: end, share covered, the mean with
    readings below detection at their limit and at zero, whether a reading was over range, first and last cell."""

    end_ms: Ints
    coverage: Floats
    upper: Floats
    lower: Floats
    over: Bools
    first: Ints
    last: Ints


def rolling_means(series: Series, minutes: float, min_coverage: float = MIN_COVERAGE) -> RollingMeans:
    """Every window of ``minutes`` fully inside the series that touches a reading, among them those whose coverage comes
    to ``min_coverage`` or leaves it. Empty where the series is shorter."""
    length = _length_ms(minutes)
    if not len(series.cells.index) or length > series.end_ms - series.start_ms:
        nothing, none = np.empty(0, np.int64), np.empty(0)
        return RollingMeans(nothing, none, none, none, np.empty(0, np.bool_), nothing, nothing)
    reach = rolling(series, length, min_coverage)
    means, there = _means(series, reach), (reach.n > 0) & (reach.covered > 0)
    return RollingMeans(
        reach.end[there],
        reach.covered[there] / length,
        means.upper[there],
        np.minimum(means.lower, means.upper)[there],
        means.over[there],
        reach.first[there],
        reach.last[there],
    )


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
    reach = _fixed(series, length, origin_ms)
    if reach is None:
        return []
    kept = _accepted(reach, length, min_coverage, min_readings)
    return _windows(series, reach, _means(series, reach), length, kept)


def block_means(series: Series, minutes: float) -> Floats:
    """The means of ``blocks`` alone, [k], in order."""
    length = _length_ms(minutes)
    reach = _fixed(series, length, None)
    if reach is None:
        return np.empty(0)
    return _means(series, reach).upper[_accepted(reach, length, MIN_COVERAGE, 1)]


def _fixed(series: Series, length: int, origin_ms: int | None) -> Reach | None:
    """Blocks of ``length`` ms fully inside the series; None where there are none."""
    origin = series.start_ms if origin_ms is None else origin_ms
    begin = origin + -(-(series.start_ms - origin) // length) * length
    starts = np.arange(begin, series.end_ms - length + 1, length, dtype=np.int64)
    if not len(series.cells.index) or not len(starts):
        return None
    return reach_of(series, starts, starts + length)


def _windows(series: Series, reach: Reach, means: _Means, length: int, kept: Bools) -> list[Window]:
    """Many windows at once: arrays become plain numbers column by column, which is ten times faster than one by one."""
    index, upper = series.cells.index, means.upper[kept]
    columns = (
        reach.end[kept] - length,
        reach.end[kept],
        upper,
        np.minimum(means.lower[kept], upper),
        upper,
        reach.covered[kept] / length,
        reach.n[kept],
        index[reach.first[kept]],
        index[reach.last[kept]],
        means.over[kept],
    )
    return [Window(*row) for row in zip(*(column.tolist() for column in columns), strict=True)]
