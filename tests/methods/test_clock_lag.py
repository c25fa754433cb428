"""Logs that rise together: generated rooms, one meter's clock off on one day, on all of them, or on none."""

from __future__ import annotations

from time import perf_counter

import numpy as np
import pytest

from methods.clock import CommonLog
from methods.quantities.durations import MINUTE_MS
from tests.methods.lag_rooms import off, proposed, rooms


@pytest.mark.parametrize("minutes", [60, -60, 120, 30])
def test_one_day_of_forty_an_hour_off_is_proposed_and_no_other(minutes: int) -> None:
    logs = rooms(1, 4, 40)
    logs[2] = off(logs[2], minutes, day=17)
    (said,) = proposed(logs, 40)
    assert (said.day, said.log, said.against, said.either) == (17, 2, (0, 1, 3), False)
    assert said.lag_ms / MINUTE_MS == pytest.approx(minutes, abs=10)
    assert 0.3 < said.confidence <= 1


@pytest.mark.parametrize("minutes", [60, -120, 300])
@pytest.mark.parametrize("interval", [1, 5, 10])
def test_a_constant_lag_is_proposed_once(minutes: int, interval: int) -> None:
    logs = rooms(2, 3, 20, interval=interval)
    logs[0] = off(logs[0], minutes)
    (said,) = proposed(logs, 20)
    assert (said.day, said.log) == (None, 0)
    assert set(said.against) <= {1, 2}
    assert said.lag_ms / MINUTE_MS == pytest.approx(minutes, abs=10)


def test_of_two_logs_either_may_be_off() -> None:
    logs = rooms(3, 2, 20)
    (said,) = proposed([logs[0], off(logs[1], 60)], 20)
    assert said.either


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    ("common", "events"), [(True, 8), (False, 8), (False, 3), (False, 0)], ids=["delays", "own", "few", "noise"]
)
def test_less_than_a_day_in_a_hundred_is_proposed_for_nothing(seed: int, common: bool, events: float) -> None:
    """Delays of minutes, rooms that share nothing, noise: 4 × 5 rooms × 30 days each."""
    assert len(proposed(rooms(10 + seed, 5, 30, common=common, events=events), 30)) <= 1


@pytest.mark.parametrize("bells", [0.6, 0.9])
def test_rooms_that_keep_the_same_hours_are_no_lag(bells: float) -> None:
    assert len(proposed(rooms(20, 5, 30, common=False, bells=bells), 30)) <= 1


def test_of_forty_days_with_an_hour_off_most_are_found() -> None:
    hits = 0
    for seed in range(12):
        logs = rooms(50 + seed, 3, 15)
        logs[1] = off(logs[1], 60, day=seed)
        hits += any(
            said.day == seed and abs(abs(said.lag_ms) - 60 * MINUTE_MS) < 11 * MINUTE_MS for said in proposed(logs, 15)
        )
    assert hits >= 9


@pytest.mark.parametrize("logs", [[], [CommonLog([], [])] * 3, [CommonLog([0, 60_000, 120_000], [1.0, 1.0, 1.0])] * 3])
def test_of_nothing_nothing_is_said(logs: list[CommonLog]) -> None:
    assert proposed(logs, 2) == []


def test_gaps_and_what_is_no_number_do_not_hide_it() -> None:
    logs = [
        CommonLog(log.utc_ms, np.where(np.arange(len(np.asarray(log.values))) % 97 < 9, np.nan, log.values))
        for log in rooms(4, 3, 20)
    ]
    logs[1] = off(logs[1], 60, day=5)
    assert [(said.day, said.log) for said in proposed(logs, 20)] == [(5, 1)]


def test_twenty_instruments_over_forty_days_take_less_than_five_seconds() -> None:
    logs = rooms(5, 4, 40) * 5
    began = perf_counter()
    proposed(logs, 40)
    assert perf_counter() - began < 5
