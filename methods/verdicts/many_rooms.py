"""Many rooms against one limit: what chance alone would call not met, and how likely it is that one of them is.

Twenty rooms at the limit are twenty occasions for a wrong call. Errors of one instrument are in all of its results
alike: its zero, span and drift. They are one factor in common, and what is left of each result's variance is its own
(a one-factor normal copula: each result keeps its probability, only how they go together is modelled). The factor is
summed over, so that no random numbers are drawn (docs/methods/verdicts.md). Pure.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy.special import ndtr, ndtri

from methods.quantities.arrays import Floats
from methods.uncertainty.budget import DRIFT, INTERFERENCE, SPAN, TEMPERATURE, ZERO

#: Parts of a budget that all results of one instrument have in common (project rule).
SHARED_PARTS = frozenset({ZERO, SPAN, DRIFT, TEMPERATURE, INTERFERENCE})
#: Where the factor is summed over: beyond 8 standard deviations lie 1e-15 of it.
_STEP = 1 / 64
_FACTOR: Floats = np.arange(-8.0, 8.0 + _STEP, _STEP)
_WEIGHT: Floats = np.exp(-(_FACTOR**2) / 2) / np.exp(-(_FACTOR**2) / 2).sum()
#: What is left to a result whose whole error is shared: small beside a step, so that it is all or nothing.
_NOTHING = 1e-12


@dataclass(frozen=True, slots=True)
class ComparedRoom:
    """One room that was compared with the limit.

    ``p``: the probability that the limit is not met there. ``shared``: the part of its variance, 0 to 1, that it has in
    common with all others of the same ``source``, an instrument; "" shares with none.
    """

    p: float
    shared: float = 0.0
    source: str = ""

    def __post_init__(self) -> None:
        if not (0 <= self.p <= 1 and 0 <= self.shared <= 1):
            raise ValueError("probabilities and shares are from zero to one")


@dataclass(frozen=True, slots=True)
class ByChance:
    """If all of ``n`` lay exactly at the limit: how many of them would be expected to be called not met, and how likely
    it is that at least one would."""

    n: int
    expected: float
    at_least_one: float


def at_least_one(rooms: Iterable[ComparedRoom]) -> float:
    """The probability that the limit is not met in at least one room: 1 − Π(1 − p) over those that share nothing.

    None of the rooms: 0. Of those that share a source ∫ Π(1 − pᵢ(z)) φ(z) dz stands for the product, with
    pᵢ(z) = Φ((Φ⁻¹(pᵢ) + √ρᵢ z) / √(1 − ρᵢ)).
    """
    sources: dict[str, list[ComparedRoom]] = defaultdict(list)
    none = 1.0
    for room in rooms:
        if room.source and room.shared > 0:
            sources[room.source].append(room)
        else:
            none *= 1 - room.p
    for together in sources.values():
        none *= _none_of(tuple(together))
    return min(max(1 - none, 0.0), 1.0)


def by_chance(rooms: Sequence[ComparedRoom], level: float) -> ByChance:
    """What would be called not met if every room lay at its limit; ``level``: the chance of it for a single one, such
    as 0.05. The expected number does not depend on what the errors have in common; that it happens at all does."""
    at_limit = [replace(room, p=level) for room in rooms]
    return ByChance(len(at_limit), len(at_limit) * level, at_least_one(at_limit))


@lru_cache(maxsize=2048)
def _none_of(rooms: tuple[ComparedRoom, ...]) -> float:
    """The probability that all rooms of one source meet the limit. Pages ask it again and again of the same ones."""
    if len(rooms) == 1:
        return 1 - rooms[0].p
    all_met = np.ones_like(_FACTOR)
    for room in rooms:
        own = max(np.sqrt(1 - room.shared), _NOTHING)
        all_met *= ndtr(-(ndtri(room.p) + np.sqrt(room.shared) * _FACTOR) / own)
    return float(all_met @ _WEIGHT)
