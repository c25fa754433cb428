"""Fewer points to draw, and none of the extremes lost."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from methods.quantities.arrays import Bools, Floats, Ints

T = TypeVar("T")
MOST_PLACES = 12

#: As many points as a trace may have: more than a screen has columns, few enough to send.
MOST_POINTS = 2000


def extremes(values: npt.ArrayLike, most: int = MOST_POINTS) -> Ints:
    """Ascending positions of at most ``most`` of ``values`` [n]: the lowest and highest of equal runs, and both ends.

    Whatever a line through all values would have shown as a peak or a trough is kept. NaN is never an extreme and is
    left out, except where all is kept because there are few. ValueError for ``most`` below 4.
    """
    if most < 4:
        raise ValueError("a drawing needs four points at least: both ends and both extremes")
    array = np.asarray(values, dtype=np.float64)
    n = len(array)
    if n <= most:
        return np.arange(n, dtype=np.int64)
    there = np.flatnonzero(np.isfinite(array))
    if len(there) <= most:
        return there.astype(np.int64)
    known = array[there]
    edges = np.linspace(0, len(known), (most - 2) // 2 + 1).astype(np.int64)
    kept = [0, len(known) - 1]
    for low, high in pairwise(edges):
        run = known[low:high]
        kept += [int(low + run.argmin()), int(low + run.argmax())]
    return there[np.unique(kept)].astype(np.int64)


def cuts(times: Ints, kept: Ints, gap: int, breaks: Bools | None = None) -> Ints:
    """Positions in ``kept`` before which a line breaks: two neighbours of all ``times`` [n] between them are more than
    ``gap`` apart.

    ``breaks`` [n] says so itself, of what was thinned before: whether something is missing before each time. A line
    breaks where nothing was logged, and only there: that decimation put points far apart is no gap.
    """
    if not len(kept):
        return np.zeros(0, dtype=np.int64)
    broken = np.cumsum(breaks) if breaks is not None else np.concatenate([[0], np.cumsum(np.diff(times) > gap)])
    return np.flatnonzero(np.diff(broken[kept]) > 0).astype(np.int64) + 1


def parted(values: Sequence[T], at: Ints) -> list[T | None]:
    """``values`` with None before each of the positions ``at``."""
    out: list[T | None] = []
    begin = 0
    for end in at.tolist():
        out += values[begin:end]
        out.append(None)
        begin = end
    return out + list(values[begin:])


def rounded(values: Floats, digits: int = 4) -> list[float]:
    """``values`` [n], finite, to so many significant digits and at most ``MOST_PLACES`` places: short to send."""
    size = np.abs(values)
    decimals = digits - 1 - np.floor(np.log10(np.where(size > 0, size, 1.0))).astype(np.int64)
    out = np.empty(len(values))
    decimals = np.minimum(decimals, MOST_PLACES)
    for places in np.unique(decimals).tolist():
        here = decimals == places
        out[here] = np.round(values[here], places)
    return out.tolist()
