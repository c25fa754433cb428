"""Proposed boundaries of visits: the Nile (N-ids), an independent library, and logs whose visits are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.placing import NoProposal, change_points, propose_visits
from methods.quantities.durations import MINUTE_MS

START = 1_717_400_000_000


def nile() -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    from statsmodels.datasets import nile

    frame = nile.load_pandas().data
    return np.asarray(frame["volume"], dtype=np.float64)


def test_n01_the_nile_changed_after_1898() -> None:
    """``strucchange::breakpoints(Nile ~ 1)``: the last year of the old level is the 28th, 1898; Cobb 1978.

    N-05: here an index is that of the first reading of the new level, counted from 0, which is 1899.
    """
    assert change_points(nile(), 1) == [28]


def test_n02_means_and_sum_of_squares() -> None:
    """N-02: segment means 1097.75 and 849.9722; residual sum of squares 1597457.19."""
    (first,) = change_points(nile(), 1)
    old, new = np.split(nile(), [first])
    assert old.mean() == pytest.approx(1097.75, abs=0.01)
    assert new.mean() == pytest.approx(849.9722, abs=0.01)
    assert ((old - old.mean()) ** 2).sum() + ((new - new.mean()) ** 2).sum() == pytest.approx(1597457.19, abs=0.01)


@settings(deadline=None, max_examples=50)
@given(
    levels=st.lists(st.floats(-5, 5), min_size=2, max_size=5),
    seed=st.integers(0, 10_000),
    count=st.integers(1, 4),
    least=st.integers(2, 6),
    channels=st.integers(1, 2),
)
def test_the_same_division_as_an_independent_library(
    levels: list[float], seed: int, count: int, least: int, channels: int
) -> None:
    """ruptures, ``Dynp`` with the l2 cost: an exact search too, so the cost must be equal."""
    import ruptures

    rng = np.random.default_rng(seed)
    table = np.repeat(levels, 15)[:, None] + rng.normal(size=(15 * len(levels), channels))
    theirs = ruptures.Dynp("l2", min_size=least, jump=1).fit(table).predict(n_bkps=count)
    ours = change_points(table, count, least)
    cost = ruptures.costs.CostL2().fit(table)
    assert cost.sum_of_costs([*ours, len(table)]) == pytest.approx(cost.sum_of_costs(theirs), rel=1e-9)
    assert np.diff([0, *ours, len(table)]).min() >= least


def visit_log(
    seed: int, rooms: int, interval_s: int = 60, minutes: int = 12
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """One meter left running through the rooms: times, values (CO2-like and temperature), and the true starts."""
    rng = np.random.default_rng(seed)
    per_room = minutes * 60 // interval_s
    level = 500 + np.cumsum(rng.choice([-1, 1], rooms) * rng.uniform(80, 300, rooms))
    warmth = 21 + rng.uniform(-2, 2, rooms)
    values = np.column_stack((np.repeat(level, per_room), np.repeat(warmth, per_room)))
    values += rng.normal(size=values.shape) * [8, 0.1]
    times = START + 1000 * interval_s * np.arange(len(values))
    return times, values, times[::per_room]


@pytest.mark.parametrize(("interval_s", "rooms", "minutes"), [(60, 11, 12), (10, 30, 12), (2, 12, 13)])
def test_known_visits_are_found_to_the_reading(interval_s: int, rooms: int, minutes: int) -> None:
    """At 2 s the log has 4,680 readings: looked at in blocks of 4, of which 390 to a room are no multiple."""
    times, values, starts = visit_log(3, rooms, interval_s, minutes)
    found = propose_visits(times, values, rooms)
    assert found.by == "levels"
    assert found.visits[:, 0].tolist() == starts.tolist()
    assert found.visits[:-1, 1].tolist() == starts[1:].tolist()
    assert found.visits[-1, 1] == times[-1] + 1000 * interval_s
    assert found.weak.size == 0


def test_pauses_are_believed_where_there_are_as_many_bursts_as_visits() -> None:
    times, values, starts = visit_log(4, 3)
    keep = np.ones(len(times), dtype=bool)
    keep[[9, 10, 11, 21, 22, 23]] = False
    found = propose_visits(times[keep], values[keep, 0], 3)
    assert found.by == "pauses"
    assert found.visits.tolist() == [
        [start, end] for start, end in zip(starts, [*(starts[1:] - 3 * MINUTE_MS), times[-1] + MINUTE_MS], strict=True)
    ]
    assert np.isnan(found.steps).all()


def test_a_boundary_between_two_rooms_alike_is_said_to_be_weak() -> None:
    rng = np.random.default_rng(1)
    values = np.repeat([400.0, 900.0, 902.0], 20) + rng.normal(size=60) * 5
    found = propose_visits(START + MINUTE_MS * np.arange(60), values, 3)
    assert found.visits[1, 0] == START + 20 * MINUTE_MS
    assert found.weak.tolist() == [1]


def test_readings_without_a_value_are_left_out() -> None:
    times, values, starts = visit_log(5, 6)
    values[[3, 40]] = np.nan
    found = propose_visits(times, values, 6)
    assert found.visits[:, 0].tolist() == starts.tolist()


def test_each_visit_gets_its_least_time() -> None:
    """A door opened for two minutes is no visit."""
    values = np.concatenate((np.full(20, 400.0), np.full(2, 4000.0), np.full(20, 420.0), np.full(20, 700.0)))
    values += np.random.default_rng(2).normal(size=62)
    found = propose_visits(START + MINUTE_MS * np.arange(62), values, 3, least_ms=5 * MINUTE_MS)
    assert (np.diff(found.visits, axis=1) >= 5 * MINUTE_MS).all()


@pytest.mark.parametrize(
    ("readings", "count", "words"),
    [(10, 5, "10 readings are too few for 5 visits"), (0, 2, "no readings"), (10, 0, "no visits")],
)
def test_a_log_that_cannot_carry_the_visits_is_refused(readings: int, count: int, words: str) -> None:
    with pytest.raises(NoProposal, match=words):
        propose_visits(START + MINUTE_MS * np.arange(readings), np.arange(readings), count)


def test_too_few_rows_for_the_levels() -> None:
    with pytest.raises(NoProposal, match="too few for 3 levels"):
        change_points([1.0, 2.0, 3.0], 2)


def test_a_very_long_log_is_divided_in_bounded_memory() -> None:
    # 60 days every 5 s; each level is far longer than the shortest visit that is asked for
    firsts = [200_000, 470_000, 800_000]
    values = np.repeat([0.02, 0.05, 0.03, 0.07], np.diff([0, *firsts, 1_036_800]))
    noisy = values + np.random.default_rng(3).normal(0, 0.004, len(values))
    assert np.abs(np.subtract(change_points(noisy, 3, least=36), firsts)).max() <= 2
