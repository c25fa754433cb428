"""Logs of several instruments that should rise together: by how much one of them lags, day by day.

Method: docs/methods/clock.md. Project rule, tuned by simulation. Nothing here is applied: it is put to a person.

Sign: a *lag* above 0 means that what happened stands later in this log than in the others: its clock runs ahead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.clock.lag_pairs import LagPairs, pairs_of
from methods.clock.rises import rises_of
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import MINUTE_MS

#: Air takes minutes from room to room: logs less than this apart say nothing of clocks.
LEAST_LAG_MS = 20 * MINUTE_MS
#: Two lags this near each other tell the same story.
SAME_MS = 12 * MINUTE_MS


@dataclass(frozen=True, eq=False)
class CommonLog:
    """One instrument: ``utc_ms`` (n,) ascending, as its clock is understood now, and ``values`` (n,), nan for none."""

    utc_ms: npt.ArrayLike
    values: npt.ArrayLike


@dataclass(frozen=True, slots=True)
class LagProposal:
    """The log with index ``log`` is ``lag_ms`` from those ``against``, on one day, or on all of them (``day`` None).

    ``confidence``, 0 to 1: (best − next best) / best of the correlation. ``either``: as many logs stand on one side as
    on the other, so that it may be these that are off, by as much the other way.
    """

    day: int | None
    log: int
    lag_ms: int
    against: tuple[int, ...]
    confidence: float
    either: bool = False


def lag_proposals(logs: Sequence[CommonLog], day_edges_ms: npt.ArrayLike) -> list[LagProposal]:
    """What is worth asking about ``logs`` of one parameter; ``day_edges_ms`` (D + 1,) ascending UTC, so that the days
    may be those of a place. Those on all days first, then day by day. Empty where they have nothing in common.

    A day is proposed where the two logs rise together on the other days, and on this one with another lag; a lag on
    all days where the days, laid on each other, agree on one. Logs coarser than 15 min take no part.
    """
    edges = np.asarray(day_edges_ms, dtype=np.int64)
    if len(logs) < 2 or len(edges) < 2:
        return []
    arrays = [(np.asarray(log.utc_ms, dtype=np.int64), np.asarray(log.values, dtype=np.float64)) for log in logs]
    rises = rises_of(arrays, edges)
    if rises is None:
        return []
    pairs = pairs_of(rises)
    usual = Lags(len(logs), pairs, pairs.usual_ms, pairs.rises_together, pairs.confidence)
    said = list(_told(usual, None))
    for day in range(len(edges) - 1 if len(edges) > 2 else 0):  # a single day is all of them
        deviation = pairs.day_ms[:, day] - pairs.usual_ms
        said += _told(Lags(len(logs), pairs, deviation, pairs.day_speaks[:, day], pairs.day_confidence[:, day]), day)
    return said


@dataclass(frozen=True, eq=False)
class Lags:
    """Of one day, or of all: for each pair (p,) by how much the second lags the first, and whether that speaks."""

    count: int
    pairs: LagPairs
    lag_ms: Ints
    speaks: Bools
    confidence: Floats

    def between(self, one: int, others: Sequence[int]) -> Iterator[tuple[int, int, float]]:
        """For each of ``others`` whose pair with ``one`` speaks: which, how far ``one`` lags it, how surely."""
        for k in np.flatnonzero(self.speaks):
            first, second = int(self.pairs.first[k]), int(self.pairs.second[k])
            if second == one and first in others:
                yield first, int(self.lag_ms[k]), float(self.confidence[k])
            elif first == one and second in others:
                yield second, -int(self.lag_ms[k]), float(self.confidence[k])


def _told(lags: Lags, day: int | None) -> Iterator[LagProposal]:
    """Who stands apart from the largest group of logs that agree."""
    apart = lags.speaks & (np.abs(lags.lag_ms) >= LEAST_LAG_MS)
    if not apart.any():
        return
    groups = _agreeing(lags)
    if len(groups) < 2:
        return  # through others they agree all the same
    reference = groups[0]
    for group in groups[1:]:
        for one in group:
            against = [(other, lag, sure) for other, lag, sure in lags.between(one, reference)]
            if not against:
                continue
            middle = float(np.median([lag for _, lag, _ in against]))
            same = [(other, sure) for other, lag, sure in against if abs(lag - middle) <= SAME_MS]
            if abs(middle) < LEAST_LAG_MS or 2 * len(same) <= len(against):
                continue
            yield LagProposal(
                day, one, round(middle / MINUTE_MS) * MINUTE_MS, tuple(other for other, _ in same),
                round(float(np.median([sure for _, sure in same])), 2), either=len(group) == len(reference),
            )  # fmt: skip


def _agreeing(lags: Lags) -> list[list[int]]:
    """Logs joined by pairs that speak and are not apart; the largest group first, each in order."""
    group = list(range(lags.count))
    near = lags.speaks & (np.abs(lags.lag_ms) < LEAST_LAG_MS)
    for k in np.flatnonzero(near):
        kept, gone = sorted((group[lags.pairs.first[k]], group[lags.pairs.second[k]]))
        group = [kept if member == gone else member for member in group]
    groups = [[k for k, member in enumerate(group) if member == name] for name in sorted(set(group))]
    return sorted(groups, key=lambda members: -len(members))
