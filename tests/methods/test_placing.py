"""Readings to deployments, against the rule of docs/methods/placing.md applied pair by pair."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.placing import (
    OPEN_MS,
    UNPLACED,
    OverlappingDeployments,
    assign,
    typical_interval_ms,
)
from methods.quantities.stamp_convention import CONVENTIONS, StampConvention, alike

LEAD = {"end": 1.0, "middle": 0.5, "start": 0.0}


def by_hand(t: int, starts: list[int], ends: list[int], represents: StampConvention, interval: int) -> int:
    for i, (start, end) in enumerate(zip(starts, ends, strict=True)):
        if represents == "spot":
            if start <= t < end:
                return i
            continue
        begin = t - LEAD[represents] * interval
        if min(end, begin + interval) - max(start, begin) > interval / 2:
            return i
    return UNPLACED


@st.composite
def deployments(draw: st.DrawFn) -> tuple[list[int], list[int]]:
    """Up to six, some touching, some empty, in any order, the last perhaps open."""
    lengths = draw(st.lists(st.tuples(st.integers(0, 10), st.integers(0, 25)), max_size=6))
    at = 0
    spans: list[tuple[int, int]] = []
    for gap, length in lengths:
        spans.append((at + gap, at + gap + length))
        at += gap + length
    still_open: bool = draw(st.booleans())
    if spans and still_open:
        spans[-1] = (spans[-1][0], OPEN_MS)
    mixed: list[tuple[int, int]] = draw(st.permutations(spans))
    return [start for start, _ in mixed], [end for _, end in mixed]


@settings(deadline=None)
@given(
    spans=deployments(),
    times=st.lists(st.integers(-20, 160), max_size=30),
    represents=st.sampled_from(CONVENTIONS),
    interval=st.integers(1, 30),
)
def test_each_reading_goes_where_the_rule_says(
    spans: tuple[list[int], list[int]], times: list[int], represents: StampConvention, interval: int
) -> None:
    starts, ends = spans
    found = assign(times, starts, ends, represents, interval)
    expected = [by_hand(t, starts, ends, represents, interval) for t in times]
    assert found.tolist() == expected


@settings(deadline=None)
@given(
    spans=deployments(),
    mixed=st.lists(st.tuples(st.integers(-20, 160), st.sampled_from(CONVENTIONS)), max_size=30),
    interval=st.integers(1, 30),
)
def test_each_reading_by_its_own_word(
    spans: tuple[list[int], list[int]], mixed: list[tuple[int, StampConvention]], interval: int
) -> None:
    starts, ends = spans
    codes = np.array([CONVENTIONS.index(word) for _, word in mixed], dtype=np.int8)
    found = assign([t for t, _ in mixed], starts, ends, codes, interval)
    assert found.tolist() == [by_hand(t, starts, ends, word, interval) for t, word in mixed]


@pytest.mark.parametrize(
    ("words", "times", "word", "moved"),
    [
        # 0–60 stamped at its end, 60–120 at its start: counted as stamped at their ends they follow each other
        (["end", "end", "start"], [60, 120, 120], "end", [60, 120, 180]),
        (["start", "middle", "start"], [0, 90, 120], "start", [0, 60, 120]),
        (["spot", "spot", "end"], [30, 90, 180], "spot", [30, 90, 150]),  # a moment is the middle of its interval
        (["middle", "end"], [30, 120], "end", [60, 120]),
    ],
)
def test_one_word_for_all_keeps_the_middle_of_each_where_it_is(
    words: list[StampConvention], times: list[int], word: StampConvention, moved: list[int]
) -> None:
    codes = np.array([CONVENTIONS.index(one) for one in words], dtype=np.int8)
    found, at = alike(np.array(times), codes, 60)
    assert (found, at.tolist()) == (word, moved)


def test_a_spot_value_at_the_edges() -> None:
    """start ≤ t < end; where one ends and the next begins, the next."""
    assert assign([9, 10, 19, 20, 29, 30], [10, 20], [20, 30]).tolist() == [-1, 0, 0, 1, 1, -1]


def test_a_logged_mean_is_stamped_at_its_end() -> None:
    """A 10-minute mean stamped 5 min into a room belongs to neither room: half of it is from before."""
    ten = 10
    assert assign([105, 106, 110], [100], [200], StampConvention.END, ten).tolist() == [-1, 0, 0]
    assert assign([205, 204], [100], [200], StampConvention.END, ten).tolist() == [-1, 0]
    assert assign([94, 95, 96], [100], [200], StampConvention.START, ten).tolist() == [-1, -1, 0]
    assert assign([100, 101], [100], [200], StampConvention.MIDDLE, ten).tolist() == [-1, 0]


def test_an_open_deployment_takes_all_that_follows() -> None:
    assert assign([5, 10, 4_102_444_800_000], [10], [OPEN_MS]).tolist() == [-1, 0, 0]
    assert assign([5, 10], [10], [np.iinfo(np.int64).max], StampConvention.END, 4).tolist() == [-1, -1]
    assert assign([13], [10], [np.iinfo(np.int64).max], StampConvention.END, 4).tolist() == [0]


def test_nothing_in_nothing_out() -> None:
    assert assign([], [1], [2]).tolist() == []
    assert assign([1, 2], [], []).tolist() == [-1, -1]


def test_overlapping_deployments_are_refused_with_the_pair() -> None:
    with pytest.raises(OverlappingDeployments, match="one place at a time") as caught:
        assign([1], [50, 0, 10], [60, 11, 20])
    assert caught.value.pair == (1, 2)


def test_a_zero_length_deployment_holds_nothing_and_overlaps_nothing() -> None:
    assert assign([9, 10, 11], [10, 10], [10, 20]).tolist() == [-1, 1, 1]


@pytest.mark.parametrize(
    ("starts", "ends", "represents", "interval", "words"),
    [
        ([10], [5], StampConvention.SPOT, None, "ends before it starts"),
        ([10, 11], [20], StampConvention.SPOT, None, "a start and an end"),
        ([10], [20], StampConvention.END, None, "length of the interval"),
        ([10], [20], StampConvention.MIDDLE, 0, "length of the interval"),
    ],
)
def test_what_makes_no_sense_is_refused(
    starts: list[int], ends: list[int], represents: StampConvention, interval: int | None, words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        assign([12], starts, ends, represents, interval)


def test_the_typical_interval() -> None:
    """Median of the positive gaps: pauses, equal stamps and a clock set back do not move it."""
    assert typical_interval_ms([0, 60, 120, 180, 9000, 9060, 9060, 30, 90]) == 60
    assert typical_interval_ms([0, 60, 180]) == 90
    assert typical_interval_ms([9060, 9000, 180, 120, 60]) == 60  # newest first
    assert typical_interval_ms([5, 5]) is None
    assert typical_interval_ms([5]) is None
    assert typical_interval_ms([]) is None
