"""Bursts, readings outside, decimation, and what may be done with stays: by hand, no source.

Method: docs/methods/clock.md, docs/methods/placing.md.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.clock import bursts
from methods.placing import CannotEdit, Span, Stay, free_part, merged, moved, spans, split, trace

T = datetime(2026, 9, 15, 8, 0, tzinfo=UTC)


def at(minutes: float) -> datetime:
    return T + timedelta(minutes=minutes)


def test_a_gap_of_more_than_three_intervals_ends_a_burst() -> None:
    times = [0, 10, 20, 50, 81, 91]  # gaps 10 10 30 31 10
    assert spans(times, 10) == [Span(0, 60, 4), Span(81, 101, 2)]


def test_of_two_intervals_the_longer_counts() -> None:
    # 10 s readings, then 60 s ones: 60 is more than 3 × 10 and no gap
    times, steps = [0, 10, 20, 80, 140, 330], [10, 10, 10, 60, 60, 60]
    assert spans(times, steps) == [Span(0, 200, 5), Span(330, 390, 1)]


def test_readings_outside_are_parted_by_those_inside() -> None:
    times = np.arange(0, 100, 10)
    outside = np.array([1, 1, 0, 0, 1, 0, 1, 1, 1, 1], bool)
    assert spans(times, 10, outside) == [Span(0, 20, 2), Span(40, 50, 1), Span(60, 100, 4)]
    assert spans(times, 10, np.zeros(10, bool)) == []
    assert spans([], 10) == []


@given(st.lists(st.integers(1, 200), min_size=1, max_size=60), st.integers(1, 30), st.data())
def test_spans_are_the_bursts_of_the_clock_and_hold_every_reading_once(
    gaps: list[int], interval: int, data: st.DataObject
) -> None:
    times = np.cumsum(gaps)
    found = spans(times, interval)
    assert [[s.start_ms, s.end_ms] for s in found] == bursts(times, interval).tolist()  # one rule in two places
    which = np.array(data.draw(st.lists(st.booleans(), min_size=len(times), max_size=len(times))))
    for mask in (which, ~which):
        assert sum(s.count for s in spans(times, interval, mask)) == mask.sum()


def test_a_trace_keeps_lowest_and_highest_and_leaves_gaps_open() -> None:
    times = np.array([0, 1, 2, 3, 10, 11])
    values = np.array([1.0, 5.0, 2.0, np.nan, 7.0, 6.0])
    assert trace(times, values, 0, 12, 3, gap_ms=3) == [[0, 1.0, 5.0], [], [10, 6.0, 7.0]]
    assert trace(times, values, 100, 200, 3, gap_ms=3) == []


@given(st.lists(st.floats(-5, 5), min_size=1, max_size=200), st.integers(1, 40))
def test_no_extreme_is_lost(values: list[float], columns: int) -> None:
    array = np.array(values)
    rows = trace(np.arange(len(values)), array, 0, len(values), columns, gap_ms=5)
    assert len(rows) <= columns
    assert min(row[1] for row in rows) == pytest.approx(array.min(), rel=1e-5)
    assert max(row[2] for row in rows) == pytest.approx(array.max(), rel=1e-5)


@pytest.mark.parametrize(
    ("taken", "left"),
    [
        ([], (10, 50)),
        ([(0, 20)], (20, 50)),
        ([(20, 25)], (25, 50)),
        ([(30, 45)], (10, 30)),
        ([(0, 30), (30, 60)], None),
        ([(60, 90), (0, 5)], (10, 50)),
    ],
)
def test_the_longest_part_that_is_free(taken: list[tuple[int, int]], left: tuple[int, int] | None) -> None:
    assert free_part((10, 50), taken) == left


def test_moving_splitting_merging() -> None:
    stay = Stay(1, at(0), at(60))
    assert moved(stay, at(5), None) == Stay(1, at(5), None)
    assert split(stay, at(20)) == (Stay(1, at(0), at(20)), Stay(1, at(20), at(60)))
    assert split(Stay(1, at(0), None), at(20), 2)[1] == Stay(2, at(20), None)
    first, second = split(stay, at(20))
    assert merged(second, first) == stay
    assert merged(stay, Stay(1, at(90), None)) == Stay(1, at(0), None)


@pytest.mark.parametrize(
    ("deed", "told"),
    [
        (lambda s: moved(s, at(5), at(5)), "ends after it starts"),
        (lambda s: moved(s, at(5), at(70), [Stay(2, at(65), None)]), "at another point"),
        (lambda s: split(s, at(0)), "after its start and before its end"),
        (lambda s: split(s, at(60)), "after its start and before its end"),
        (lambda s: merged(s, Stay(2, at(60), at(70))), "at the same point"),
        (lambda s: merged(s, Stay(1, at(30), at(70))), "follow each other"),
        (lambda s: merged(Stay(1, at(0), None), Stay(1, at(30), None)), "follow each other"),
        (lambda s: merged(s, Stay(1, at(90), None), [Stay(2, at(70), at(80))]), "Between the two"),
    ],
)
def test_what_means_nothing_is_refused(deed: object, told: str) -> None:
    with pytest.raises(CannotEdit, match=told):
        deed(Stay(1, at(0), at(60)))  # type: ignore[operator]


def test_stays_that_only_touch_do_not_overlap() -> None:
    assert moved(Stay(1, at(0), at(60)), at(0), at(65), [Stay(2, at(65), None), Stay(3, at(-9), at(0))]).ends_at == at(
        65
    )
