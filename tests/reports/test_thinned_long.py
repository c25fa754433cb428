"""Long deployments thinned by their envelopes, against reading everything.

Envelopes are made small here, and few readings count as many, so that short logs go the way of long ones.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest

from campaigns.models import Calibration, ClockReset, Deployment
from methods.figures.block_summary import parts_of
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from readings.models import SavedLayout
from readings.queries import placed_in
from readings.queries.downsampling import long_deployments, mixture, plain_blocks
from readings.queries.rows import Reach, Rows, rows_of
from reports.services.downsampling import Thinned, thinned
from tests.readings.logs import START, Logger

DAY = 1440
BINS = 40
MANY = 400


@pytest.fixture(autouse=True)
def short_logs_are_long(db: None, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("readings.store.envelopes.parts_of", partial(parts_of, size=16))
    monkeypatch.setattr(long_deployments, "MANY", MANY)
    monkeypatch.setattr(mixture, "MANY", MANY)
    monkeypatch.setattr(plain_blocks, "MOST_PARTS", 200)


@pytest.fixture
def ways(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """For each channel that has many readings, whether the envelopes were enough."""
    seen: list[bool] = []
    real = long_deployments.few_of

    def noted(*args: Any) -> Any:
        found = real(*args)
        seen.append(found is not None)
        return found

    monkeypatch.setattr(long_deployments, "few_of", noted)
    return seen


Window = tuple[float | None, float | None]


def both(logger: Logger, stays: list[Deployment], window: Window, monkeypatch: pytest.MonkeyPatch) -> tuple[Any, Any]:
    start, end = (None if minute is None else utc_moment(START + round(MINUTE_MS * minute)) for minute in window)
    asked: dict[str, Any] = {"parameter": "formaldehyde", "start": start, "end": end, "bins": BINS}
    found = thinned(logger.campaign, stays, **asked)
    with monkeypatch.context() as patch:
        patch.setattr(long_deployments, "MANY", 10**9)
        return found, thinned(logger.campaign, stays, **asked)


def left_out(one: Thinned) -> set[tuple[int, float]]:
    """Readings shown that do not count: the extremes of all of them, because none is in a part that is not read."""
    there = ~one.counts & np.isfinite(one.value)
    return set(zip(one.utc_ms[there].tolist(), one.value[there].tolist(), strict=True))


def assert_right(found: list[Thinned], whole: list[Thinned], logger: Logger, stays: list[Deployment]) -> None:
    """Every point a reading of the deployment as it is when all is derived; none of the extremes lost."""
    all_of_it = {one.deployment: one for one in placed_in(logger.campaign, deployments=stays)}
    for few_ones, many in zip(found, whole, strict=True):
        told = ("deployment", "interval_ms", "start_ms", "end_ms", "reading_count")
        assert [getattr(few_ones, name) for name in told] == [getattr(many, name) for name in told]
        placed = all_of_it[few_ones.deployment]
        derived = set(zip(placed.utc_ms.tolist(), placed.value.tolist(), placed.flags.tolist(), strict=True))
        shown = zip(few_ones.utc_ms.tolist(), few_ones.value.tolist(), few_ones.flags.tolist(), strict=True)
        assert [row for row in shown if row[1] == row[1] and row not in derived] == []
        assert np.all(np.diff(few_ones.utc_ms) > 0)
        values, expected = few_ones.value[few_ones.counts], many.value[many.counts]
        assert (values.min(), values.max()) == (expected.min(), expected.max())
        assert left_out(many) <= left_out(few_ones)
        breaks = placed.utc_ms[1:][np.diff(placed.utc_ms) > 2 * placed.interval_ms]
        before = np.searchsorted(breaks, few_ones.utc_ms, side="right")
        assert few_ones.broken.tolist() == (np.diff(before, prepend=before[:1]) > 0).tolist()


WINDOWS: tuple[Window, ...] = ((None, None), (DAY + 7, 3 * DAY), (2.5 * DAY, 2.5 * DAY + 30), (None, 1.5 * DAY))


def a_log_with_faults(seed: int) -> tuple[Logger, list[Deployment]]:
    """Ten days every minute: gaps, errors, a clock that is off and drifts, zero and span that drift, a certificate."""
    stands = ("spot", "end", "middle", "start")[seed // 2]
    logger = Logger.new(seed, warm_up_s=300 if seed % 2 else 5400, represents=stands)
    chance = logger.random
    for minute in sorted(chance.uniform(0, 9 * DAY, seed % 3)):
        logger.clock_check(minute, float(chance.uniform(-20, 20)))
    for minute, observed in ((-60, 0.002), (4 * DAY, 0.009), (8 * DAY, 0.001)):
        logger.field_check(minute, observed + 0.001 * (seed % 2))
    logger.field_check(5 * DAY, 0.53, 0.5)
    if seed % 4 == 0:
        day = utc_moment(START + 6 * DAY * MINUTE_MS).date()
        Calibration.objects.create(channel=logger.channel, date=day, due=day.replace(year=2027), slope=0.9)
    stamps = logger.with_gaps(logger.stamps(-DAY, 11 * DAY, 60), 6, 30)
    cut = int(chance.integers(5000, 7000))
    logger.hand_in(stamps[:cut])
    logger.hand_in(stamps[cut - 300 :] if seed % 2 else stamps[cut - 300 :][::-1], chunk=3000)
    on = utc_moment(START + 3 * DAY * MINUTE_MS)
    stays = logger.stays((10, 2 * DAY), (2 * DAY + 90, 7.3 * DAY), (7.3 * DAY, 7.3 * DAY + 100), (8 * DAY, None))
    Deployment.objects.filter(pk=stays[1].pk).update(switched_on_at=on)
    return logger, list(Deployment.objects.filter(campaign=logger.campaign).order_by("starts_at"))


@pytest.mark.parametrize("seed", range(8))
def test_every_point_is_a_reading_and_no_extreme_is_lost(
    seed: int, ways: list[bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    logger, stays = a_log_with_faults(seed)
    for window in WINDOWS:
        assert_right(*both(logger, stays, window, monkeypatch), logger, stays)
    assert ways == [True] * len(WINDOWS)


FIELDS = ("utc_ms", "value", "flags", "broken", "interval_ms", "start_ms", "end_ms", "reading_count")


def test_a_window_of_few_readings_is_what_it_was(ways: list[bool], monkeypatch: pytest.MonkeyPatch) -> None:
    logger, stays = a_log_with_faults(4)
    for minute in (2 * DAY - 60, 3 * DAY, 5.7 * DAY, 7.3 * DAY - 20, 9 * DAY):
        few_ones, whole = both(logger, stays, (minute, minute + MANY - 1), monkeypatch)
        assert [few.deployment for few in few_ones] == [every.deployment for every in whole] != []
        for few, every in zip(few_ones, whole, strict=True):
            for name in FIELDS:
                np.testing.assert_array_equal(getattr(few, name), getattr(every, name), err_msg=f"{name}, {minute}")
    assert ways == [True] * 5


def test_little_of_a_plain_log_is_read(ways: list[bool], monkeypatch: pytest.MonkeyPatch) -> None:
    logger = Logger.new(3)
    logger.hand_in(logger.stamps(0, 20 * DAY, 60))
    stays = logger.stays((30, 19 * DAY))
    read: list[int] = []

    def counted(pieces: list[Reach]) -> list[Rows]:
        found = list(rows_of(pieces))
        read.extend(map(len, found))
        return found

    monkeypatch.setattr(mixture, "rows_of", counted)
    found, whole = both(logger, stays, (None, None), monkeypatch)
    assert_right(found, whole, logger, stays)
    assert ways == [True]
    assert 0 < sum(read) < 19 * DAY / 10


def test_several_readings_to_a_minute(ways: list[bool], monkeypatch: pytest.MonkeyPatch) -> None:
    """Printed without seconds: the steps are 0 and a minute."""
    logger = Logger.new(3)
    logger.hand_in(logger.stamps(0, 3 * DAY * 6, 10) // MINUTE_MS * MINUTE_MS, chunk=4000)
    stays = logger.stays((30, 2.5 * DAY))
    found, whole = both(logger, stays, (None, None), monkeypatch)
    assert ways == [True]
    assert [one.reading_count for one in found] == [one.reading_count for one in whole]
    assert found[0].value[found[0].counts].max() == whole[0].value[whole[0].counts].max()


def an_answer(logger: Logger) -> None:
    at = {"kind": "backward", "before_ms": 5, "after_ms": 9}
    ClockReset.objects.create(instrument=logger.instrument, answer="not-set", **at)


def a_jump(logger: Logger) -> None:
    logger.clock_check(DAY, 0)
    logger.clock_check(2 * DAY, 300)


@pytest.mark.parametrize("doubt", [an_answer, a_jump])
def test_where_envelopes_cannot_tell_everything_is_read(
    doubt: Callable[[Logger], None], ways: list[bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    logger = Logger.new(5)
    logger.hand_in(logger.stamps(0, 4 * DAY, 60))
    doubt(logger)
    stays = logger.stays((30, 3 * DAY))
    found, whole = both(logger, stays, (None, None), monkeypatch)
    assert_right(found, whole, logger, stays)
    assert ways == [False]


def test_a_clock_set_back_in_the_middle_of_a_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """By a minute and a half, with checks on both sides that look like a drift."""
    logger = Logger.new(6)
    logger.clock_check(DAY, 0)
    logger.clock_check(9 * DAY, -90)
    stamps = logger.stamps(0, 10 * DAY, 60)
    logger.hand_in(np.concatenate((stamps[: 4 * DAY], stamps[4 * DAY :] - 90_000)))
    stays = logger.stays((30, 9 * DAY))
    for window in WINDOWS:
        assert_right(*both(logger, stays, window, monkeypatch), logger, stays)


def test_files_in_utc_and_without_seconds(ways: list[bool], monkeypatch: pytest.MonkeyPatch) -> None:
    """One says UTC itself; the other prints whole minutes, so that a reading lies in the middle of its minute."""
    logger = Logger.new(8)
    logger.clock_check(2 * DAY, 7)
    local = logger.stamps(0, 4 * DAY, 60)
    logger.hand_in(local[: 2 * DAY] - 60 * MINUTE_MS, layout={"basis": "utc"})
    logger.hand_in(local[2 * DAY :], layout={"basis": "local", "stamp_format": "%Y-%m-%d %H:%M"})
    stays = logger.stays((30, 3.5 * DAY))
    for window in ((None, None), (DAY, 2.9 * DAY)):
        found, whole = both(logger, stays, window, monkeypatch)
        assert_right(found, whole, logger, stays)
    assert ways == [True, True]


def test_the_repeated_hour(ways: list[bool], monkeypatch: pytest.MonkeyPatch) -> None:
    """24 October to 26 October 2026 in Lisbon."""
    logger = Logger.new(7)
    logger.clock_check(39 * DAY, 5)
    logger.hand_in(logger.stamps(36 * DAY, 8 * DAY, 60))
    stays = logger.stays((37 * DAY, 43 * DAY))
    found, whole = both(logger, stays, (None, None), monkeypatch)
    assert_right(found, whole, logger, stays)
    assert ways == [True]
    assert found[0].counts.sum() > BINS


def test_files_whose_values_stand_for_different_things_are_read(
    ways: list[bool], monkeypatch: pytest.MonkeyPatch
) -> None:
    logger = Logger.new(9)
    stamps = logger.stamps(0, 4 * DAY, 60)
    logger.hand_in(stamps[: 2 * DAY])
    means = logger.hand_in(stamps[2 * DAY :])
    means.kept_layout = SavedLayout.objects.create(
        organisation=logger.instrument.organisation, name="means", shape_key="m", content={}, seen={}, reads="means",
        represents="end",
    )  # fmt: skip
    means.save()
    found, whole = both(logger, logger.stays((30, 3.5 * DAY)), (None, None), monkeypatch)
    assert found[0].value.tolist() == whole[0].value.tolist()
    assert ways == [False]
