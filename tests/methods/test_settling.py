"""Settling follows a move or switching on (docs/methods/flags.md): stays cut by a diary lose nothing."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.correction import NOT_DEPLOYED, Chain, ChannelFacts, correct
from methods.placing import UNPLACED, assign, standing_since
from methods.quantities.flags import Flag

INTERVAL_MS = 60_000
#: T90 of 60 s: 3 · T90 is three readings.
FACTS = ChannelFacts(interval_s=60, warm_up_s=60, t90_s=60)

#: (gap before it in intervals, length in intervals, point) of each stay; gaps of up to two are bridged.
STAYS = st.lists(
    st.tuples(st.integers(0, 5), st.integers(4, 30), st.integers(1, 2)), min_size=1, max_size=12
)  # fmt: skip


def lost(stays: list[tuple[int, int, int]], facts: ChannelFacts = FACTS) -> list[int]:
    """How many readings settle in each stay of a log without a gap that began long before."""
    ends = np.cumsum([gap + length for gap, length, _ in stays])
    starts = ends - [length for _, length, _ in stays]
    since = standing_since(starts * INTERVAL_MS, ends * INTERVAL_MS, np.array([p for *_, p in stays]), INTERVAL_MS)
    utc = np.arange(-100, int(ends[-1])) * INTERVAL_MS
    where = assign(utc, starts * INTERVAL_MS, ends * INTERVAL_MS)
    standing = np.where(where == UNPLACED, NOT_DEPLOYED, since[where])
    flags = correct(utc, 1.0, Chain(facts), standing_ms=standing).flags
    return [int(np.count_nonzero(flags[where == k] & Flag.SETTLING)) for k in range(len(stays))]


@given(stays=STAYS)
@settings(deadline=None)
def test_only_a_move_or_a_gap_settles_anew(stays: list[tuple[int, int, int]]) -> None:
    moved = [True, *(gap > 2 or point != was for (gap, _, point), (*_, was) in zip(stays[1:], stays, strict=False))]
    assert lost(stays) == [3 if anew else 0 for anew in moved]


@pytest.mark.parametrize("gap", [0, 1, 2])
def test_a_diary_costs_a_fixed_logger_nothing_after_its_first_stay(gap: int) -> None:
    assert lost([(0, 30, 1), *[(gap, 30, 1)] * 200]) == [3] + [0] * 200


def test_stays_in_any_order() -> None:
    starts, ends, points = np.array([20, 0, 10]), np.array([30, 10, 20]), np.array([1, 1, 2])
    assert standing_since(starts, ends, points, 1).tolist() == [20, 0, 10]
    assert standing_since(starts, ends, np.ones(3, dtype=np.int64), 1).tolist() == [0, 0, 0]
    assert standing_since(starts[:0], ends[:0], points[:0], 1).tolist() == []


@pytest.mark.parametrize(
    ("warm_up", "settles"),
    [(60, [0, 1, 2, 20, 21, 22]), (0, [0, 1, 2])],  # a type that is ready at once was not switched on in a gap
)
def test_switching_on_settles_too(warm_up: float, settles: list[int]) -> None:
    minutes = np.array([*range(10), *range(20, 30)])  # standing since 0; ten intervals without a reading
    facts = ChannelFacts(interval_s=60, warm_up_s=warm_up, t90_s=60)
    flags = correct(minutes * INTERVAL_MS, 1.0, Chain(facts), standing_ms=0).flags
    assert minutes[(flags & Flag.SETTLING) > 0].tolist() == settles
