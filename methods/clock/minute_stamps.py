"""Is this the same memory with its stamps cut to the minute, or rounded to it? And which of its readings are which?"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.clock.duplicate_memory import ALIKE, CLEARLY, LEAST, changes
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import MINUTE_MS

CUT, ROUNDED = "cut", "rounded"
#: A regular pattern comes again some minutes later: by so many each way a match has to be lost.
TRIED = tuple(minutes for minutes in range(-7, 8) if minutes)


@dataclass(frozen=True, slots=True)
class MinuteMatch:
    """How the minutes were made from the finer stamps, and that ``same`` of ``compared`` changes of value agree."""

    way: str
    same: int
    compared: int


def is_coarse(stamps: Ints) -> bool:
    """Whether all stamps lie on whole minutes."""
    return bool((stamps % MINUTE_MS == 0).all())


def minutes_of(stamps: Ints, way: str) -> Ints:
    """The minutes that ``stamps`` are printed as."""
    return (stamps + (MINUTE_MS // 2 if way == ROUNDED else 0)) // MINUTE_MS * MINUTE_MS


def places(stamps: Ints) -> Ints:
    """For sorted ``stamps`` (n,): the how many-th of its stamp each one is, from 0."""
    return np.arange(len(stamps)) - np.searchsorted(stamps, stamps)


def minute_match(coarse: Ints, coarse_values: Floats, fine: Ints, fine_values: Floats) -> MinuteMatch | None:
    """Whether the coarse readings are the fine ones with their stamps cut or rounded; else None.

    Arrays (n,) of one channel, each sorted by stamp, equal stamps in the order of the memory. As for a shifted clock
    only changes of value are compared; the match must hold for 95 % of them, and clearly not some minutes beside.
    """
    probes = changes(coarse_values)
    if len(probes) < LEAST or fine.size < LEAST:
        return None
    best = max((_met(coarse, coarse_values, fine, fine_values, way, 0) for way in (CUT, ROUNDED)), key=_share)
    if best.compared < LEAST or _share(best) < ALIKE:
        return None
    beside = [_met(coarse, coarse_values, fine, fine_values, best.way, n * MINUTE_MS) for n in TRIED]
    rivals = [_share(other) for other in beside if other.compared >= LEAST]
    return best if _share(best) - max(rivals, default=0.0) >= CLEARLY else None


def _share(match: MinuteMatch) -> float:
    return match.same / match.compared if match.compared else 0.0


def _met(coarse: Ints, values: Floats, fine: Ints, fine_values: Floats, way: str, shift: int) -> MinuteMatch:
    probes = changes(values)
    minutes = minutes_of(fine, way)
    at, there = look_up(coarse[probes] + shift, places(coarse)[probes], minutes)
    inside = np.isin(coarse[probes] + shift, minutes)
    same = there & (fine_values[at] == values[probes])
    return MinuteMatch(way, int(np.count_nonzero(same)), int(np.count_nonzero(inside)))


def look_up(stamps: Ints, nth: Ints, minutes: Ints) -> tuple[Ints, Bools]:
    """Where the ``nth`` reading (from 0) of each stamp stands among sorted ``minutes``, and whether it is there."""
    at = np.searchsorted(minutes, stamps) + nth
    inside = (at < minutes.size) & (nth >= 0)
    at = np.where(inside, at, 0)
    there: Bools = inside & (minutes[at] == stamps) if minutes.size else inside
    return at, there
