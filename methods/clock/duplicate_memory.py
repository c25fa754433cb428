"""Is this the same memory again, written under another clock? (one export in local time, one in UTC)"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.clock.suggestion import WINDOW_MS
from methods.quantities.arrays import Floats, Indexes, Ints
from methods.quantities.durations import MINUTE_MS

#: Every offset from UTC in use today, and every difference of two, is a whole number of quarter hours.
QUARTER_MS = 15 * MINUTE_MS
#: Fewer equal steps than this prove nothing; more need not be looked at.
LEAST, MOST = 20, 2_000
ALIKE = 0.95
#: What moved by chance lies at least this far below.
CLEARLY = 0.3


@dataclass(frozen=True, slots=True)
class MemoryMatch:
    """``same`` of ``compared`` changes of value are held ``shift_ms`` later (negative: earlier)."""

    shift_ms: int
    same: int
    compared: int


def twin_of(stamps: Ints, values: Floats, held_stamps: Ints, held_values: Floats) -> MemoryMatch | None:
    """The shift, by whole quarter hours within ±26 h, under which values that are already held come again; else None.

    Arrays (n,) of one channel, ``held_stamps`` sorted. Only readings that differ from the one before are compared: a
    quiet room is alike at every hour. The best shift must hold for 95 % of them, and no shift at all, and chance at the
    other shifts, must do clearly worse.
    """
    probes = changes(values)
    if len(probes) < LEAST or held_stamps.size < LEAST:
        return None
    shifts = np.arange(-WINDOW_MS, WINDOW_MS + 1, QUARTER_MS, dtype=np.int64)
    met = [_met(stamps[probes], values, probes, held_stamps, held_values, int(shift)) for shift in shifts]
    same, compared = (np.array(column, dtype=np.int64) for column in zip(*met, strict=True))
    share = np.where(compared >= LEAST, same / np.maximum(compared, 1), 0.0)
    unmoved = int(np.flatnonzero(shifts == 0)[0])
    # of two shifts that are alike, the one that finds more of the file
    order = np.lexsort((np.abs(shifts), -same, -np.round(share, 2)))
    best = int(order[0])
    others = np.delete(share, [best, unmoved])
    tried = others[np.delete(compared, [best, unmoved]) >= LEAST]
    chance = float(np.median(tried)) if tried.size else 0.0
    if best == unmoved or share[best] < ALIKE or share[best] - max(chance, float(share[unmoved])) < CLEARLY:
        return None
    return MemoryMatch(int(shifts[best]), int(same[best]), int(compared[best]))


def changes(values: Floats) -> Indexes:
    """Indices of up to ``MOST`` values that differ from the one before them, in unbroken order."""
    differs = np.flatnonzero((values[1:] != values[:-1]) & np.isfinite(values[1:]) & np.isfinite(values[:-1])) + 1
    return differs[:: max(1, len(differs) // MOST)][:MOST]


def _met(
    at: Ints, values: Floats, probes: Indexes, held_stamps: Ints, held_values: Floats, shift: int
) -> tuple[int, int]:
    """(how many are the same change, how many have a held reading at their shifted stamp at all)"""
    place = np.searchsorted(held_stamps, at + shift)
    inside = (place > 0) & (place < held_stamps.size)
    inside[inside] = held_stamps[place[inside]] == at[inside] + shift
    k, place = probes[inside], place[inside]
    same = (held_values[place] == values[k]) & (held_values[place - 1] == values[k - 1])
    return int(np.count_nonzero(same)), int(place.size)
