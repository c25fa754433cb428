"""Many readings drawn with few points, none of the extremes lost. Pure: numpy in, numpy out.

Times are int64 ms UTC. What is kept are readings themselves, never means of them: a point in a figure can be asked
where it comes from.
"""

from __future__ import annotations

import numpy as np

from methods.quantities.arrays import Bools, Floats, Ints

#: Points a bin may keep: the lowest and the highest of what counts, and of what does not.
A_BIN = 4


def thin(utc_ms: Ints, value: Floats, counts: Bools, *, start_ms: int, end_ms: int, bins: int) -> Ints:
    """Positions (ascending) of the readings to keep: ``utc_ms``, ``value``, ``counts`` are (n,), times ascending.

    [start, end) is cut into ``bins`` of equal time; of each the lowest and the highest reading that counts are kept,
    and those of the readings that do not. Of equal values the earliest is taken. All are kept, also those without a
    value, where they are at most ``A_BIN`` × ``bins``. Readings outside [start, end) are left out. ValueError for no
    bin, or an end that is not after the start.
    """
    if bins < 1 or end_ms <= start_ms:
        raise ValueError("at least one bin, and an end after the start")
    first, last = np.searchsorted(utc_ms, [start_ms, end_ms]).tolist()
    if last - first <= A_BIN * bins:
        return np.arange(first, last, dtype=np.int64)
    here = slice(first, last)
    known = np.isfinite(value[here])
    kept = [
        first + _extremes(utc_ms[here], value[here], np.flatnonzero(known & which), start_ms, end_ms, bins)
        for which in (counts[here], ~counts[here])
    ]
    return np.unique(np.concatenate(kept))


def _extremes(utc_ms: Ints, value: Floats, rows: Ints, start_ms: int, end_ms: int, bins: int) -> Ints:
    """Of ``rows`` the lowest and the highest in each bin, some twice."""
    if not len(rows):
        return rows
    edges = start_ms + (np.arange(bins, dtype=np.int64) * (end_ms - start_ms)) // bins
    begins = np.searchsorted(utc_ms[rows], edges)
    begins = np.unique(begins[begins < len(rows)])  # an empty bin begins where the next one does
    length = np.diff(np.append(begins, len(rows)))
    values = value[rows]
    kept = []
    for extreme in (np.minimum, np.maximum):
        at_extreme = np.flatnonzero(values == np.repeat(extreme.reduceat(values, begins), length))
        kept.append(at_extreme[np.searchsorted(at_extreme, begins)])
    return rows[np.concatenate(kept)]


def broken(since_ms: Ints, kept: Ints, gap_ms: int) -> Bools:
    """For each of ``kept`` whether a gap longer than ``gap_ms`` lies between it and the one kept before it.

    ``since_ms`` (n,): how long each reading comes after the one before it. A line through the kept points breaks
    where nothing was logged, and only there.
    """
    gaps = np.cumsum(since_ms > gap_ms)
    out: Bools = np.diff(gaps[kept], prepend=gaps[kept[:1]]) > 0
    return out
