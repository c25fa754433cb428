"""A log as a timeline shows it: stretches of unbroken logging, and the readings outside every deployment. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.quantities.arrays import Floats, Ints

#: A gap of more than this many intervals ends a burst (docs/methods/clock.md).
GAP = 3


@dataclass(frozen=True)
class Span:
    """Readings next to each other: UTC ms of the first one and of one interval after the last, and how many."""

    start_ms: int
    end_ms: int
    count: int


def spans(utc_ms: npt.ArrayLike, interval_ms: npt.ArrayLike, which: npt.ArrayLike | None = None) -> list[Span]:
    """Stretches of unbroken logging: times (n,) ascending; interval of each reading (n,), or one for all.

    A gap of more than 3 intervals ends one; of two intervals that meet in a gap the longer counts, so that a log that
    changes from 10 s to 1 min is not torn to pieces. With ``which`` (n,) bool, of those readings only, and readings
    between them that are not meant end a stretch, too.
    """
    times = np.asarray(utc_ms, dtype=np.int64)
    if not times.size:
        return []
    steps = np.broadcast_to(np.asarray(interval_ms, dtype=np.int64), times.shape)
    breaks = np.diff(times) > GAP * np.maximum(steps[1:], steps[:-1])
    if which is None:
        starts = np.concatenate(([0], np.flatnonzero(breaks) + 1))
        stops = np.concatenate((starts[1:], [times.size]))
    else:
        meant = np.concatenate(([False], np.asarray(which, dtype=bool), [False]))
        broken = np.concatenate(([True], breaks, [True]))
        starts = np.flatnonzero(meant[1:-1] & (~meant[:-2] | broken[:-1]))
        stops = np.flatnonzero(meant[1:-1] & (~meant[2:] | broken[1:])) + 1
    ends = times[stops - 1] + steps[stops - 1]
    return [
        Span(*triple) for triple in zip(times[starts].tolist(), ends.tolist(), (stops - starts).tolist(), strict=True)
    ]


def trace(utc_ms: Ints, values: Floats, low_ms: int, high_ms: int, columns: int, gap_ms: int) -> list[list[float]]:
    """Lowest and highest value in each of ``columns`` equal parts of [low, high): rows of (UTC ms, low, high).

    The time is that of the first reading of the part. A part of which all values are nan is left out; where more than
    ``gap_ms`` lies between two readings, an empty row parts them. Times (n,) ascending.
    """
    first, last = np.searchsorted(utc_ms, (low_ms, high_ms))
    there = np.flatnonzero(np.isfinite(values[first:last])) + first
    if not there.size:
        return []
    times, known = utc_ms[there], values[there]
    part = ((times - low_ms) * columns) // max(1, high_ms - low_ms)
    broken = np.concatenate(([True], np.diff(times) > gap_ms))
    starts = np.flatnonzero(broken | np.concatenate(([True], np.diff(part) != 0)))
    lows, highs = np.minimum.reduceat(known, starts), np.maximum.reduceat(known, starts)
    rows: list[list[float]] = []
    for k, start in enumerate(starts.tolist()):
        if broken[start] and rows:
            rows.append([])
        rows.append([int(times[start]), _plain(lows[k]), _plain(highs[k])])
    return rows


def _plain(value: float) -> float:
    """No more digits than a drawing can show."""
    return float(f"{value:.6g}")


def free_part(span: tuple[int, int], taken: npt.ArrayLike) -> tuple[int, int] | None:
    """The longest part of ``span`` (start, end) that none of ``taken`` (m, 2) covers; None where nothing is left."""
    cuts = np.asarray(taken, dtype=np.int64).reshape(-1, 2)
    start, end = span
    cuts = cuts[(cuts[:, 1] > start) & (cuts[:, 0] < end)]
    best, at = None, start
    for low, high in [*sorted(map(tuple, cuts.tolist())), (end, end)]:
        low = min(low, end)
        if low > at and (best is None or low - at > best[1] - best[0]):
            best = (at, low)
        at = max(at, high)
    return best
