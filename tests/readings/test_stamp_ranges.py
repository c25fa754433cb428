"""Reading around the deployments only gives what reading everything gives."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from campaigns.models import ClockReset
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms
from readings.queries import Placed, placed_in
from readings.queries.stamp_ranges import LEAD_MS, around, in_order, merged
from tests.readings.doing import EVER, WALL
from tests.readings.logs import START, Logger

COMPARED = ("utc_ms", "stamp", "nth", "raw", "value", "flags", "upload_id", "line")
DAY = 1440
OCTOBER = 39.5 * DAY  # minutes after START to 24 October, 20:00 UTC; five hours later the clock is put back

Read = Callable[[Logger], tuple[list[Placed], list[Placed], int]]


@pytest.fixture
def both_ways(db: None, monkeypatch: pytest.MonkeyPatch) -> Read:
    """What placed_in gives, what it gives when all is read, and how many rows it read."""

    def read(logger: Logger) -> tuple[list[Placed], list[Placed], int]:
        some = list(placed_in(logger.campaign))
        with monkeypatch.context() as patch:
            patch.setattr("readings.queries.placed.reaches_of", lambda found, *_: {key: [EVER] for key in found})
            whole = list(placed_in(logger.campaign))
        return some, whole, len(some[0].corrected.utc_ms)

    return read


def assert_same(some: list[Placed], whole: list[Placed]) -> None:
    assert [(p.deployment, p.interval_ms) for p in some] == [(p.deployment, p.interval_ms) for p in whole]
    for one, other in zip(some, whole, strict=True):
        for name in COMPARED:
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name), err_msg=name)


@pytest.mark.parametrize("seed", range(12))
def test_random_logs(both_ways: Read, seed: int) -> None:
    """Two downloads that overlap, one of them newest first; gaps, errors; a clock that is off and drifts."""
    logger = Logger.new(seed, warm_up_s=60 if seed % 3 else 3 * 3600)
    chance = logger.random
    for minute in sorted(chance.uniform(0, 4 * DAY, int(chance.integers(0, 3)))):
        logger.clock_check(minute, float(chance.uniform(-50, 50)))
    logger.field_check(-60, 0.002)
    logger.field_check(3 * DAY, 0.004)
    stamps = logger.with_gaps(logger.stamps(-DAY, 5 * DAY * 2, 30), 30, 40)
    logger.hand_in(stamps[:9000])
    logger.hand_in(stamps[8000:] if seed % 2 else stamps[8000:][::-1])
    starts = np.cumsum(chance.uniform(0, 900, 5)) + chance.uniform(0, 900)
    logger.stays(*((start, start + chance.uniform(5, 60)) for start in 60.5 * np.arange(5) + starts))
    some, whole, read = both_ways(logger)
    assert_same(some, whole)
    assert read <= len(stamps)


def test_visits_far_apart_read_little(both_ways: Read) -> None:
    logger = Logger.new(1)
    logger.hand_in(logger.stamps(0, 10 * DAY, 60))
    logger.stays((600, 630), (9 * DAY, 9 * DAY + 30))
    some, whole, read = both_ways(logger)
    assert_same(some, whole)
    assert read == 2 * (30 + 2 * 121), "two hours and the minute of warm-up before, two hours after"


@pytest.mark.parametrize("backwards", [False, True])
def test_the_repeated_hour(both_ways: Read, backwards: bool) -> None:
    logger = Logger.new(2)
    stamps = logger.stamps(OCTOBER - 3 * DAY, 6 * DAY, 60)
    logger.hand_in(stamps[::-1] if backwards else stamps)
    logger.stays((OCTOBER - 2 * DAY, OCTOBER - 2 * DAY + 60), (OCTOBER + 240, OCTOBER + 300.5), (OCTOBER + DAY, None))
    some, whole, _ = both_ways(logger)
    assert_same(some, whole)
    assert len(some[1]) == 61
    assert not np.any(some[1].flags & Flag.CLOCK_DOUBTFUL)


def test_where_the_clock_was_set_anew_between_visits_everything_is_read(both_ways: Read) -> None:
    """Put back by 20 minutes between the visits, checked in each piece: the steps must be seen, or the piece's own
    check would not hold. The same with a check only before it, and with an answer."""
    logger = Logger.new(3)
    logger.clock_check(30, 0)
    logger.clock_check(3 * DAY, -20 * 60)
    first, second = logger.stamps(0, DAY, 60), logger.stamps(DAY, 3 * DAY, 60) - 20 * MINUTE_MS
    logger.hand_in(np.concatenate((first, second)))
    logger.stays((60, 90), (2 * DAY, 2 * DAY + 30))
    some, whole, read = both_ways(logger)
    assert_same(some, whole)
    assert read > 2 * DAY
    assert int(some[1].utc_ms[0]) == START + 2 * DAY * MINUTE_MS


def test_a_small_step_back_is_known_from_the_bursts_of_the_file(both_ways: Read) -> None:
    """A minute and a half: the checks alone look like a drift."""
    logger = Logger.new(4)
    logger.clock_check(30, 0)
    logger.clock_check(3 * DAY, -90)
    first, second = logger.stamps(0, DAY, 60), logger.stamps(DAY, 3 * DAY, 60) - 90_000
    logger.hand_in(np.concatenate((first, second)))
    logger.stays((60, 90), (2 * DAY, 2 * DAY + 30))
    assert in_order([logger.instrument.pk]) == {logger.instrument.pk: False}
    some, whole, _ = both_ways(logger)
    assert_same(some, whole)


def test_with_an_answer_everything_is_read(both_ways: Read) -> None:
    logger = Logger.new(5)
    stamps = logger.stamps(0, 3 * DAY, 60)
    logger.hand_in(stamps)
    place = {"kind": "backward", "before_ms": stamp_ms(WALL), "after_ms": stamp_ms(WALL) + 5}
    ClockReset.objects.create(instrument=logger.instrument, answer="not-set", **place)
    logger.stays((60, 90), (2 * DAY, 2 * DAY + 30))
    some, whole, read = both_ways(logger)
    assert_same(some, whole)
    assert read > 2 * DAY


def test_files_in_order_of_time(db: None) -> None:
    logger = Logger.new(6)
    pk = logger.instrument.pk
    assert in_order([pk]) == {pk: True}
    forward = logger.hand_in(logger.stamps(0, 100, 60))
    logger.hand_in(logger.stamps(200, 100, 60)[::-1])
    assert in_order([pk]) == {pk: True}
    forward.bursts = None
    forward.save()
    assert in_order([pk]) == {pk: False}, "not known"


def test_channels_of_an_instrument_come_in_one_query(db: None) -> None:
    logger = Logger.new(7)
    logger.hand_in(logger.stamps(0, 50, 60))
    logger.stays((0, 10), (900, 910))
    with CaptureQueriesContext(connection) as seen:
        list(placed_in(logger.campaign, parameter=["formaldehyde", "temperature"]))
    assert sum("readings_reading" in query["sql"] for query in seen) == 1


def test_stretches_that_touch_are_one() -> None:
    assert merged([(5, 9), (0, 2), (2, 4), (6, 7)]).tolist() == [[0, 4], [5, 9]]
    hours = 3_600_000 * np.array([(10, 11), (14, 15), (20, 1 << 40)])
    assert around(hours, 0)[:, 0].tolist() == [10 * 3_600_000 - LEAD_MS, 20 * 3_600_000 - LEAD_MS]
