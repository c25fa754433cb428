"""What is kept of every 64 consecutive readings of a channel besides the readings: when, how many, how high. Pure.

A figure of a year draws a few hundred points, and finds them among these without reading the year. What is kept is
what a reading's own row says, nothing that is derived: a part stands as long as its readings, which is for ever.
"""

from __future__ import annotations

from typing import Any, Protocol

import numpy as np
import numpy.typing as npt

from methods.placing import typical_interval_ms
from methods.quantities.arrays import Floats, Ints

#: Readings of a part: two extremes of each are as close as the points of a figure from some 20,000 readings on.
SIZE = 64
MOST = 2**32 - 1

#: ``first``, ``last``: stamps. ``rises``: how many steps between neighbours are not 0, and ``steady``: how many are
#: ``step`` ms, the typical one of the chunk. ``gap``: the longest step, ms. ``low_…``, ``high_…``: key and value of the
#: lowest and highest value, of equal ones the earliest; nan without any. ``said``: whether the logger said anything of
#: one of them, or stored no value. ``order``: 1 where lines ascend with the keys, −1 where they descend, else 0.
PART = np.dtype(
    [
        ("first", "<i8"), ("last", "<i8"), ("count", "<u4"), ("rises", "<u4"), ("step", "<u4"), ("steady", "<u4"),
        ("gap", "<u4"),
        ("low_stamp", "<i8"), ("low_nth", "<i2"), ("low_raw", "<f8"),
        ("high_stamp", "<i8"), ("high_nth", "<i2"), ("high_raw", "<f8"),
        ("said", "<u1"), ("order", "<i1"), ("first_line", "<i4"), ("last_line", "<i4"),
    ]
)  # fmt: skip
Parts = npt.NDArray[Any]


class StoredRows(Protocol):
    """Readings of one channel in the order of their keys: arrays (n,), ``raw`` nan where no value was stored."""

    @property
    def stamp(self) -> Ints: ...
    @property
    def nth(self) -> Ints: ...
    @property
    def raw(self) -> Floats: ...
    @property
    def flag(self) -> Ints: ...
    @property
    def line(self) -> Ints: ...
    def __len__(self) -> int: ...


def parts_of(batch: StoredRows, size: int = SIZE) -> Parts:
    """Parts (k,) of a batch in the order of its keys, each of ``size`` readings and of those that share a stamp with
    the last of them: no stamp is in two parts."""
    n = len(batch)
    if not n:
        return np.empty(0, dtype=PART)
    steps = np.diff(batch.stamp)
    starts = _starts(steps, n, size)
    stops = np.append(starts[1:], n)
    parts = np.zeros(len(starts), dtype=PART)
    parts["first"], parts["last"] = batch.stamp[starts], batch.stamp[stops - 1]
    parts["first_line"], parts["last_line"] = batch.line[starts], batch.line[stops - 1]
    parts["count"] = stops - starts
    parts["rises"] = np.add.reduceat(_inside(steps > 0, starts, False).astype(np.int64), starts)
    step = min(typical_interval_ms(batch.stamp) or 0, MOST)
    parts["step"] = step
    parts["steady"] = np.add.reduceat(_inside(steps == step, starts, False).astype(np.int64), starts) if step else 0
    parts["gap"] = np.minimum(np.maximum.reduceat(_inside(steps, starts, 0), starts), MOST)
    parts["said"] = np.logical_or.reduceat((batch.flag != 0) | np.isnan(batch.raw), starts)
    turns = np.diff(batch.line)
    ascending = np.logical_and.reduceat(_inside(turns > 0, starts, True), starts)
    descending = np.logical_and.reduceat(_inside(turns < 0, starts, True), starts)
    parts["order"] = np.where(ascending, 1, np.where(descending, -1, 0))
    for name, extreme, none in (("low", np.minimum, np.inf), ("high", np.maximum, -np.inf)):
        at = _at_extreme(np.where(np.isnan(batch.raw), none, batch.raw), extreme, starts, stops)
        parts[f"{name}_stamp"], parts[f"{name}_nth"] = batch.stamp[at], batch.nth[at]
        parts[f"{name}_raw"] = batch.raw[at]
    return parts


def _starts(steps: Ints, n: int, size: int) -> Ints:
    """Where parts begin: after ``size`` readings, at the next change of stamp."""
    changes = np.flatnonzero(steps) + 1
    at = np.searchsorted(changes, np.arange(size, n, size))
    return np.unique(np.concatenate(([0], changes[at[at < len(changes)]])))


def _inside(between: npt.NDArray[Any], starts: Ints, neutral: Any) -> npt.NDArray[Any]:
    """From what is said of neighbours (n − 1,), at the first of each pair (n,), where both are of one part."""
    out = np.append(between, neutral)
    out[starts[1:] - 1] = neutral
    return out


def together(parts: Parts, starts: Ints) -> Parts:
    """Neighbours of one file and one direction as one part, anew from each of ``starts`` on; parts in order."""
    stops = np.append(starts[1:], len(parts))
    joined = parts[starts].copy()
    between = parts["first"][1:] - parts["last"][:-1]
    joined["last"], joined["last_line"] = parts["last"][stops - 1], parts["last_line"][stops - 1]
    joined["count"] = np.add.reduceat(parts["count"], starts)
    joined["rises"] = np.add.reduceat(parts["rises"] + _inside(between > 0, starts, False), starts)
    steady = _inside(between == parts["step"][1:], starts, False)
    joined["steady"] = np.add.reduceat(parts["steady"] + steady, starts)
    longest = np.maximum(parts["gap"], _inside(between, starts, 0))
    joined["gap"] = np.minimum(np.maximum.reduceat(longest, starts), MOST)
    for name, extreme in (("low", np.minimum), ("high", np.maximum)):
        at = _at_extreme(parts[f"{name}_raw"], extreme, starts, stops)
        for of_it in ("stamp", "nth", "raw"):
            joined[f"{name}_{of_it}"] = parts[f"{name}_{of_it}"][at]
    return joined


def _at_extreme(values: Floats, extreme: np.ufunc, starts: Ints, stops: Ints) -> Ints:
    """Where in each part its extreme is, the first of equal ones."""
    there = np.flatnonzero(values == np.repeat(extreme.reduceat(values, starts), stops - starts))
    return there[np.searchsorted(there, starts)]
