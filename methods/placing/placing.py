"""Which deployment a reading belongs to (docs/methods/placing.md). Pure."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from methods.quantities.arrays import Indexes, Ints
from methods.quantities.stamp_convention import StampConvention, StampConventions, halves_before, is_moment

#: End of a deployment that is still open, ms. Far beyond any date, and small enough to be doubled.
OPEN_MS = 1 << 61

UNPLACED = -1


class OverlappingDeployments(ValueError):
    """One instrument said to be at two places at a time. ``pair``: indices of the two as passed."""

    def __init__(self, first: int, second: int) -> None:
        super().__init__("Two deployments of one instrument overlap: it is at one place at a time.")
        self.pair = (first, second)


def assign(
    utc_ms: npt.ArrayLike,
    starts_ms: npt.ArrayLike,
    ends_ms: npt.ArrayLike,
    represents: StampConventions = StampConvention.SPOT,
    interval_ms: int | Ints | None = None,
) -> Indexes:
    """Index of the deployment of each reading: times (n,) ms, deployments of one instrument (m,) in any order → (n,).

    A spot value belongs where start ≤ t < end. A value that stands for an interval, stamped at its end, start or
    middle, belongs where more than half of the interval lies. ``UNPLACED`` (−1) elsewhere. ``represents`` and
    ``interval_ms``: one for all, or (n,), of conventions their codes.
    Raises :class:`OverlappingDeployments`; ValueError for an end before its start, or an interval that is missing.
    """
    times = np.asarray(utc_ms, dtype=np.int64)
    starts = np.asarray(starts_ms, dtype=np.int64)
    ends = np.minimum(np.asarray(ends_ms, dtype=np.int64), OPEN_MS)
    order = _in_turn(starts, ends)
    if order.size == 0 or times.size == 0:
        return np.full(times.shape, UNPLACED, dtype=np.intp)
    moment = is_moment(represents)
    if moment.all():
        return _containing(times, times + 1, 1, starts, ends, order)
    if interval_ms is None or np.any(np.asarray(interval_ms) <= 0):
        raise ValueError("A reading that stands for an interval needs the length of the interval.")
    # doubled, so that the middle of an odd interval is a whole number; a moment is the shortest interval there is
    begin = 2 * times - halves_before(represents) * interval_ms
    return _containing(begin, begin + 2 * np.where(moment, 1, interval_ms), 2, starts, ends, order)


def _in_turn(starts: Ints, ends: Ints) -> Indexes:
    """Deployments by start; raises unless each ends before the next begins."""
    if starts.shape != ends.shape:
        raise ValueError("Each deployment has a start and an end.")
    if np.any(ends < starts):
        raise ValueError("A deployment ends before it starts.")
    order = np.lexsort((ends, starts))
    clashes = np.flatnonzero(ends[order[:-1]] > starts[order[1:]])
    if clashes.size:
        raise OverlappingDeployments(int(order[clashes[0]]), int(order[clashes[0] + 1]))
    return order


def _containing(
    begin: Ints,
    end: Ints,
    scale: int,
    starts: Ints,
    ends: Ints,
    order: Indexes,
) -> Indexes:
    """The deployment over more than half of [begin, end), which then also covers its middle."""
    opens, closes = scale * starts[order], scale * ends[order]
    at = np.searchsorted(opens, begin + (end - begin) // 2, side="right") - 1
    safe = np.maximum(at, 0)
    inside = np.minimum(end, closes[safe]) - np.maximum(begin, opens[safe])
    return np.where((at >= 0) & (2 * inside > end - begin), order[safe], UNPLACED)


#: How many gaps, and what share of them, have to be about the typical one before a log counts as evenly stored. Single
#: readings half an hour apart are no interval: the meter was switched on for each (project rule, no source).
STEADY_GAPS, STEADY_SHARE = 5, 0.8


def is_same_interval(one_ms: int, other_ms: int) -> bool:
    """Whether two intervals are those of one setting of a logger, give or take how evenly it stores."""
    return 2 * max(one_ms, other_ms) < 3 * min(one_ms, other_ms)


def steady_interval_ms(times_ms: npt.ArrayLike) -> int | None:
    """The typical interval of times (n,) ascending, ms, where nearly all gaps are about that; None elsewhere."""
    gaps = np.diff(np.asarray(times_ms, dtype=np.int64))
    if len(gaps) >= STEADY_GAPS and 0 < (shortest := gaps.min()) == gaps.max():
        return int(shortest)
    typical, gaps = typical_interval_ms(times_ms), gaps[gaps > 0]
    if typical is None or len(gaps) < STEADY_GAPS:
        return None
    about = (2 * gaps < 3 * typical) & (3 * gaps > 2 * typical)
    return typical if np.count_nonzero(about) >= STEADY_SHARE * len(gaps) else None


def typical_interval_ms(stamps_ms: npt.ArrayLike) -> int | None:
    """Median positive gap between neighbouring stamps (n,), ms; None without one. Repeats and steps back do not count.

    In a file that lists its latest reading first, the gaps are those of the file read from its end.
    """
    gaps = np.diff(np.asarray(stamps_ms, dtype=np.int64))
    if gaps.size and 0 < (shortest := gaps.min()) == gaps.max():
        return int(shortest)  # a log without a break, as most are inside a deployment: nothing to sort
    if np.count_nonzero(gaps < 0) > np.count_nonzero(gaps > 0):
        gaps = -gaps
    gaps = gaps[gaps > 0]
    if not gaps.size:
        return None
    if 2 * np.count_nonzero(gaps == (shortest := gaps.min())) > gaps.size:
        return int(shortest)  # more than half of them: nothing to sort either
    return int(np.median(gaps))
