"""Where the worst window can lie, and how far each window reaches into the readings (docs/methods/averages.md).

While a window slides between two edges of readings' stretches, the sum it covers and the time it covers both change at
a steady rate, so that its mean rises or falls all the way (a quotient of two straight lines has no peak between). The
worst window therefore begins or ends at an edge, or where its coverage is exactly what is asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from methods.averages.series import Series
from methods.quantities.arrays import Ints

#: Directive 2008/50/EC Annex VII A.2 (R-01): a mean needs 75 % of its time.
MIN_COVERAGE = 0.75
#: Lengths of windows whose reach is kept with a series; of a series with more readings only the last one, for memory.
KEPT_LENGTHS, WORTH_KEEPING = 6, 50_000


@dataclass(frozen=True, slots=True)
class Reach:
    """Per window k: its end, what of it is covered in ms, the cells it touches, and how many readings those are.

    ``head``/``tail``: ms of the first and last cell that stick out of the window. Where a window touches no cell, the
    positions are 0 and ``n`` is 0.
    """

    end: Ints
    covered: Ints
    first: Ints
    last: Ints
    head: Ints
    tail: Ints
    n: Ints


def reach_of(series: Series, start: Ints, end: Ints, last: Ints | None = None) -> Reach:
    """What windows [start_k, end_k) rest on, by prefix sums: O((n + k) log n) time, exact at the window's edges.

    ``last``: the last cell that begins before each end, where that is known already.
    """
    cells = series.cells
    first = np.searchsorted(cells.hi, start, side="right")
    if last is None:
        last = np.searchsorted(cells.lo, end, side="left") - 1
    n = np.maximum(last - first + 1, 0)
    if not n.all():
        first, last = np.where(n > 0, first, 0), np.where(n > 0, last, 0)
    head = np.maximum(start - cells.lo[first], 0)
    tail = np.maximum(cells.hi[last] - end, 0)
    covered = cells.total_ms[last + 1] - cells.total_ms[first] - head - tail
    return Reach(end, np.where(n > 0, covered, 0), first, last, head, tail, n)


def enough(length: int, min_coverage: float) -> int:
    """Whole ms that a window of ``length`` ms needs covered."""
    return int(np.ceil(min_coverage * length - 1e-3))


def rolling(series: Series, length: int, min_coverage: float = MIN_COVERAGE) -> Reach:
    """The windows of ``length`` ms fully inside the series of which one is the worst, whatever the readings say.

    Kept with the series for the last few lengths asked for: how far data reach and how high they go is asked in turn,
    and for several limits.
    """
    memo: dict[tuple[int, float], Reach] = series.memo
    asked = length, min_coverage
    if asked not in memo:
        if len(memo) == KEPT_LENGTHS or len(series.cells.index) > WORTH_KEEPING:
            memo.clear()
        memo[asked] = _rolling(series, length, min_coverage)
    return memo[asked]


def _rolling(series: Series, length: int, min_coverage: float) -> Reach:
    cells = series.cells
    is_whole = bool(cells.total_ms[-1] == series.end_ms - series.start_ms)
    if is_whole and _is_even(series, length):
        inside = np.flatnonzero(cells.hi >= series.start_ms + length)
        edges = np.array([series.start_ms + length, series.end_ms], np.int64)
        ends = np.concatenate([cells.hi[inside], edges])
        last = np.concatenate([inside, np.searchsorted(cells.lo, edges, side="left") - 1])
        return reach_of(series, ends - length, ends, last)
    ends = _late_and_early(series, length) if _is_even(series, length) else _ends_at_edges(series, length)
    reach = reach_of(series, ends - length, ends)
    if is_whole:
        return reach
    crossing = _just_enough(reach, enough(length, min_coverage))
    if not crossing.size:
        return reach
    return _both(reach, reach_of(series, crossing - length, crossing))


def _late_and_early(series: Series, length: int) -> Ints:
    """Of even readings that do not reach both ends of the deployment: as ``_ends_at_edges``, without those twice."""
    cells = series.cells
    edges = np.array([series.start_ms + length, series.end_ms], np.int64)
    late = cells.lo + length
    late = late[late > cells.hi[-1]]
    ends = np.concatenate([cells.hi, late, edges])
    ends = ends[(ends >= series.start_ms + length) & (ends <= series.end_ms)]
    ends.sort(kind="stable")
    return ends


def _both(some: Reach, others: Reach) -> Reach:
    joined = (np.concatenate([getattr(some, field.name), getattr(others, field.name)]) for field in fields(Reach))
    return Reach(*joined)


def _is_even(series: Series, length: int) -> bool:
    """Readings without a gap, each for the same time, of which a window holds a whole number: where one begins another
    ends, and half of the work is spared. The first and the last may be cut by the deployment."""
    cells = series.cells
    lengths = cells.hi - cells.lo
    step = int(lengths[len(lengths) // 2])
    if length % step or not np.array_equal(cells.hi[:-1], cells.lo[1:]):
        return False
    first, last = cells.lo[0] == series.start_ms, cells.hi[-1] == series.end_ms
    whole = lengths[int(first) : len(lengths) - int(last)]
    return bool((whole == step).all() and lengths.max() == step)


def _ends_at_edges(series: Series, length: int) -> Ints:
    """Ends of all windows inside the series that begin or end at an edge of a reading's stretch or of the series, in
    order, each once."""
    cells = series.cells
    after_gap = cells.lo[1:][cells.hi[:-1] < cells.lo[1:]]
    before_gap = cells.hi[:-1][cells.hi[:-1] < cells.lo[1:]]
    edges = np.array([series.start_ms + length, series.end_ms], np.int64)
    ending = cells.hi, after_gap, cells.lo[:1]
    beginning = cells.lo + length, before_gap + length, cells.hi[-1:] + length
    ends = np.concatenate([*ending, *beginning, edges])
    return np.unique(ends[(ends >= series.start_ms + length) & (ends <= series.end_ms)])


def _just_enough(reach: Reach, needed: int) -> Ints:
    """Ends at which coverage comes to ``needed`` ms, or leaves it, between two windows that follow each other."""
    before, after = reach.covered[:-1], reach.covered[1:]
    at = np.flatnonzero((before < needed) != (after < needed))
    gained, length = after[at] - before[at], reach.end[at + 1] - reach.end[at]
    # to the side on which enough is covered: whole ms, and it changes by at most one ms a ms
    steps = (needed - before[at]) * length / gained
    rounded = np.where(gained > 0, np.ceil(steps), np.floor(steps)).astype(np.int64)
    crossing: Ints = reach.end[at] + rounded
    return crossing
