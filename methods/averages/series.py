"""The readings of one deployment, and the stretch of time each of them stands for (docs/methods/averages.md).

Pure: numpy in, numpy out. Times are int64 milliseconds since the epoch, UTC.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from methods.quantities.arrays import Bools, Floats, Ints, Shorts
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import EXCLUDES, Flag
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.stamp_convention import StampConvention

Number = TypeVar("Number", np.int64, np.float64)


@dataclass(frozen=True, slots=True)
class Cells:
    """Usable readings as non-overlapping stretches of time, ready for prefix sums.

    ``lo``/``hi`` [n] ms; ``value`` [n] with a reading below detection at its limit; ``low`` [n] the same with that
    reading at zero; ``index`` [n] position in the series; ``over`` [n] true where the reading was over range.
    ``total_*`` are prefix sums of length n + 1. Values are summed around ``centre``, so that millions of readings
    cost no digits: a constant series has exactly its constant as mean.
    """

    lo: Ints
    hi: Ints
    value: Floats
    low: Floats
    index: Ints
    over: Bools
    centre: float
    total_ms: Ints
    total_value: Floats
    total_low: Floats
    total_over: Ints


@dataclass(frozen=True, slots=True)
class Times:
    """Of usable readings what does not depend on their values: as in ``Cells``, and which were ``below`` detection."""

    lo: Ints
    hi: Ints
    length: Ints
    index: Ints
    below: Bools
    over: Bools
    total_ms: Ints
    total_over: Ints


@dataclass(frozen=True, eq=False)
class Series:
    """Readings of one deployment, corrected, in one unit.

    ``utc_ms`` int64[n] non-decreasing, ``value`` float64[n], ``flags`` int16[n] (``quantities.flags``), the logging
    interval in ms, and the deployment's start and end in ms UTC. Readings whose flags exclude them, or that carry no
    finite value, stay in the arrays (so that positions can be traced) but stand for nothing. The value of a reading
    below detection is its limit. ValueError for arrays of unequal length, times running backwards, an interval or a
    deployment without length.
    """

    utc_ms: Ints
    value: Floats
    flags: Shorts
    interval_ms: int
    start_ms: int
    end_ms: int
    represents: StampConvention = StampConvention.SPOT

    def __post_init__(self) -> None:
        if not self.utc_ms.shape == self.value.shape == self.flags.shape or self.utc_ms.ndim != 1:
            raise ValueError("times, values and flags must be one-dimensional and of equal length")
        if self.interval_ms <= 0:
            raise ValueError("the logging interval must be longer than nothing")
        if self.end_ms <= self.start_ms:
            raise ValueError("the deployment must end after it starts")
        if np.any(np.diff(self.utc_ms) < 0):
            raise ValueError("times must not run backwards")

    @property
    def minutes(self) -> float:
        """Length of the deployment in minutes."""
        return (self.end_ms - self.start_ms) / MINUTE_MS

    @cached_property
    def usable(self) -> Bools:
        """bool[n]: finite and not excluded by a flag."""
        counts: Bools = np.isfinite(self.value) & ((self.flags & int(EXCLUDES)) == 0)
        return counts

    @cached_property
    def memo(self) -> dict[Any, Any]:
        """What ``reach`` keeps between questions about the same times."""
        return {}

    @cached_property
    def times(self) -> Times:
        """The stretches the usable readings stand for, cut to the deployment."""
        index = np.flatnonzero(self.usable).astype(np.int64)
        lo, hi = _stretches(self.utc_ms[index], self.interval_ms, self.represents)
        lo, hi = np.maximum(lo, self.start_ms), np.minimum(hi, self.end_ms)
        kept = hi > lo
        if not kept.all():
            index, lo, hi = index[kept], lo[kept], hi[kept]
        flags = self.flags[index]
        over = (flags & int(Flag.OVER_RANGE)) != 0
        length = hi - lo
        below = (flags & int(Flag.BELOW_DETECTION)) != 0
        return Times(lo, hi, length, index, below, over, _total(length), _total(over.astype(np.int64)))

    @cached_property
    def cells(self) -> Cells:
        """Those stretches with their values."""
        return _cells(self.value[self.times.index], self.times)

    def in_other_terms(self, value: Floats) -> Series:
        """The same readings in another unit, ``value`` [n]; what does not depend on it is not worked out again."""
        other = replace(self, value=value)
        if np.array_equal(other.usable, self.usable):
            other.__dict__.update(times=self.times, memo=self.memo)
        return other


def after_ms(represents: StampConvention, interval_ms: int) -> int:
    """How far the stretch of a lone reading reaches beyond its stamp; it begins one interval earlier."""
    half = interval_ms // 2
    return {StampConvention.END: 0, StampConvention.START: interval_ms}.get(represents, half)


def _stretches(t: Ints, interval: int, represents: StampConvention) -> tuple[Ints, Ints]:
    """Non-overlapping [lo, hi) in ms for readings stamped at ``t`` [n]."""
    half = interval // 2
    gap = np.diff(t)
    if represents is StampConvention.SPOT:
        middle = t[:-1] + gap // 2
        bridged = gap <= BRIDGED_INTERVALS * interval
        lo = np.concatenate([t[:1] - half, np.where(bridged, middle, t[1:] - half)])
        hi = np.concatenate([np.where(bridged, middle, t[:-1] + half), t[-1:] + half])
        return lo, hi
    after = after_ms(represents, interval)
    before = interval - after
    lo, hi = t - before, t + after
    # Where stamps are closer than the interval (an extra reading), a stretch gives way on the side away from its stamp.
    if represents is StampConvention.START:
        hi[:-1] = np.minimum(hi[:-1], lo[1:])
    elif represents is StampConvention.END:
        lo[1:] = np.maximum(lo[1:], hi[:-1])
    else:
        border = np.where(hi[:-1] > lo[1:], t[:-1] + gap // 2, hi[:-1])
        lo[1:] = np.maximum(lo[1:], border)
        hi[:-1] = border
    return lo, hi


def _cells(value: Floats, t: Times) -> Cells:
    centre = float(value[len(value) // 2]) if len(value) else 0.0
    low, total_value = value, _total(t.length * (value - centre))
    total_low = total_value
    if t.below.any():
        low = np.where(t.below, np.minimum(value, 0.0), value)
        total_low = _total(t.length * (low - centre))
    return Cells(t.lo, t.hi, value, low, t.index, t.over, centre, t.total_ms, total_value, total_low, t.total_over)


def _total(values: NDArray[Number]) -> NDArray[Number]:
    out = np.zeros(len(values) + 1, dtype=values.dtype)
    np.cumsum(values, out=out[1:])
    return out


def joined(parts: Sequence[Series]) -> Series:
    """One series from consecutive deployments at the same point, in order of time.

    ValueError when the parts differ in what a value stands for, overlap, or lie further apart than a gap that would
    be bridged inside one deployment: then they are separate visits and are averaged separately. The longest logging
    interval governs, because it decides what the windows can show.
    """
    if not parts:
        raise ValueError("nothing to join")
    ordered = sorted(parts, key=lambda part: part.start_ms)
    interval = max(part.interval_ms for part in ordered)
    for earlier, later in pairwise(ordered):
        if earlier.represents is not later.represents:
            raise ValueError("the parts differ in what a stored value stands for")
        if not 0 <= later.start_ms - earlier.end_ms <= BRIDGED_INTERVALS * interval:
            raise ValueError("the deployments overlap or do not follow each other")
    return Series(
        np.concatenate([part.utc_ms for part in ordered]),
        np.concatenate([part.value for part in ordered]),
        np.concatenate([part.flags for part in ordered]),
        interval,
        ordered[0].start_ms,
        ordered[-1].end_ms,
        ordered[0].represents,
    )
