"""Basis of a logger's clock: zones with their clock changes, against the IANA database through ``zoneinfo`` (Z-ids)."""

from __future__ import annotations

import time
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.clock import Basis, UnknownZone
from methods.clock.zones import transitions
from methods.quantities.durations import HOUR_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms, utc_ms

ZONES = (
    "Europe/Berlin", "America/New_York", "Asia/Kathmandu", "Pacific/Chatham", "Australia/Lord_Howe",
    "Africa/Casablanca", "America/Sao_Paulo", "Pacific/Apia", "Asia/Kolkata", "Europe/London", "UTC",
)  # fmt: skip


def wall(text: str) -> int:
    return stamp_ms(datetime.fromisoformat(text))


def utc(text: str) -> int:
    return utc_ms(datetime.fromisoformat(text).replace(tzinfo=UTC))


def placed(zone: str, *stamps: str) -> tuple[list[int], list[int]]:
    moments, flags = Basis.in_zone(zone).to_utc([wall(text) for text in stamps])
    return moments.tolist(), flags.tolist()


def test_z01_spring_in_berlin() -> None:
    shown = Basis.in_zone("Europe/Berlin").from_utc([utc("2024-03-31T00:59:59"), utc("2024-03-31T01:00:00")])
    assert shown.tolist() == [wall("2024-03-31T01:59:59"), wall("2024-03-31T03:00:00")]


@pytest.mark.parametrize(
    ("zone", "missing", "expected"),
    [
        ("Europe/Berlin", "2024-03-31T02:30", "2024-03-31T01:30"),  # Z-02: read with the offset before, +01:00
        ("America/New_York", "2024-03-10T02:30", "2024-03-10T07:30"),  # Z-06
    ],
)
def test_z02_z06_a_missing_hour_is_flagged(zone: str, missing: str, expected: str) -> None:
    moments, flags = placed(zone, missing)
    assert moments == [utc(expected)]
    assert flags == [Flag.CLOCK_DOUBTFUL]


@pytest.mark.parametrize(
    ("zone", "before", "twice", "first", "second"),
    [
        ("Europe/Berlin", "2024-10-27T02:50", "2024-10-27T02:30", "2024-10-27T00:30", "2024-10-27T01:30"),  # Z-03
        ("America/New_York", "2024-11-03T01:50", "2024-11-03T01:30", "2024-11-03T05:30", "2024-11-03T06:30"),  # Z-06
    ],
)
def test_z03_z06_the_order_in_the_file_tells_the_two_passes(
    zone: str, before: str, twice: str, first: str, second: str
) -> None:
    moments, flags = placed(zone, twice, before, twice)
    assert moments == [utc(first), utc(first) + 20 * 60_000, utc(second)]
    assert flags == [0, 0, 0]
    moments, flags = placed(zone, twice)
    assert moments == [utc(first)]
    assert flags == [Flag.CLOCK_DOUBTFUL]


@pytest.mark.parametrize(("day", "hours"), [("2024-03-31", 23), ("2024-07-01", 24), ("2024-10-27", 25)])
def test_z04_length_of_a_day(day: str, hours: int) -> None:
    following = (date.fromisoformat(day) + timedelta(days=1)).isoformat()
    moments, flags = placed("Europe/Berlin", f"{day}T00:00", f"{following}T00:00")
    assert moments[1] - moments[0] == hours * HOUR_MS
    assert flags == [0, 0]


@pytest.mark.parametrize(
    ("zone", "minutes"),
    [("Asia/Kathmandu", 345), ("Asia/Kolkata", 330), ("Australia/Adelaide", 570), ("Pacific/Chatham", 765)],
)
def test_z08_offsets_that_are_no_whole_hours(zone: str, minutes: int) -> None:
    moments, flags = placed(zone, "2024-07-15T12:00")
    assert moments == [utc("2024-07-15T12:00") - minutes * 60_000]
    assert flags == [0]


def test_z09_the_date_that_does_not_exist() -> None:
    stamps = [f"2011-12-30T{hour:02d}:00" for hour in range(24)]
    assert placed("Pacific/Apia", *stamps)[1] == [Flag.CLOCK_DOUBTFUL] * 24
    moments, flags = placed("Pacific/Apia", "2011-12-29T23:59", "2011-12-31T00:00")
    assert moments[1] - moments[0] == 60_000
    assert flags == [0, 0]


@pytest.mark.parametrize(
    ("zone", "stamp", "hours"),
    [
        ("America/Sao_Paulo", "2018-01-15T12:00", -2),  # Z-10
        ("America/Sao_Paulo", "2018-07-15T12:00", -3),
        ("America/Sao_Paulo", "2020-01-15T12:00", -3),
        ("America/Sao_Paulo", "2020-07-15T12:00", -3),
        ("Africa/Casablanca", "2024-03-01T12:00", 1),  # Z-11
        ("Africa/Casablanca", "2024-03-20T12:00", 0),
        ("Africa/Casablanca", "2024-04-20T12:00", 1),
    ],
)
def test_z10_z11_rules_that_change(zone: str, stamp: str, hours: int) -> None:
    assert placed(zone, stamp)[0] == [utc(stamp) - hours * HOUR_MS]


@pytest.mark.parametrize(
    ("zone", "days"),
    [
        ("Europe/Berlin", ["03-31", "10-27", "03-30", "10-26", "03-29", "10-25", "03-28", "10-31"]),
        ("America/New_York", ["03-10", "11-03", "03-09", "11-02", "03-08", "11-01", "03-14", "11-07"]),
    ],
)
def test_z12_change_dates_2024_to_2027(zone: str, days: list[str]) -> None:
    table = transitions(zone, utc("2024-02-01"), utc("2027-11-30"))
    found = [datetime.fromtimestamp(at / 1000, tz=ZoneInfo(zone)).strftime("%m-%d") for at in table.at.tolist()]
    assert found == days


def test_z13_epochs_of_the_changes() -> None:
    table = transitions("Europe/Berlin", utc("2024-02-01"), utc("2024-11-30"))
    assert (table.at // 1000).tolist() == [1_711_846_800, 1_729_990_800]


@pytest.mark.parametrize("zone", ["Europe/Nowhere", "", "../etc/passwd", "/etc/passwd", "Europe"])
def test_an_unknown_zone_is_refused_when_it_is_named(zone: str) -> None:
    with pytest.raises(UnknownZone):
        Basis.in_zone(zone)


def test_a_fixed_offset_is_ahead_of_utc() -> None:
    basis = Basis.fixed(345)
    assert basis.to_utc([wall("2024-07-15T12:00")])[0].tolist() == [utc("2024-07-15T06:15")]
    assert basis.from_utc([utc("2024-07-15T06:15")]).tolist() == [wall("2024-07-15T12:00")]


def test_bases_say_what_they_are() -> None:
    texts = [basis.text for basis in (Basis.utc(), Basis.fixed(-210), Basis.fixed(345), Basis.in_zone("Asia/Kolkata"))]
    assert texts == ["UTC", "UTC−03:30", "UTC+05:45", "local time in Asia/Kolkata"]


# --- against zoneinfo, moment by moment -------------------------------------------------------------------------------

YEARS = st.integers(utc("1990-01-01"), utc("2037-12-31"))


@settings(deadline=None)
@given(st.sampled_from(ZONES), st.lists(YEARS, min_size=1, max_size=20))
def test_what_a_clock_shows(zone: str, moments: list[int]) -> None:
    expected = [stamp_ms(datetime.fromtimestamp(at // 1000, tz=ZoneInfo(zone))) + at % 1000 for at in moments]
    assert Basis.in_zone(zone).from_utc(moments).tolist() == expected


@settings(deadline=None)
@given(st.sampled_from(ZONES), YEARS)
def test_what_a_stamp_means(zone: str, stamp: int) -> None:
    """One stamp alone: zoneinfo's fold 0, flagged exactly where fold 0 and fold 1 differ."""
    naive = datetime(1970, 1, 1) + timedelta(milliseconds=stamp)  # noqa: DTZ001 - a wall clock
    readings = [utc_ms(naive.replace(tzinfo=ZoneInfo(zone), fold=fold)) for fold in (0, 1)]
    moments, flags = Basis.in_zone(zone).to_utc([stamp])
    assert moments.tolist() == readings[:1]
    assert flags.tolist() == [Flag.CLOCK_DOUBTFUL if readings[0] != readings[1] else 0]


FOLDS = [
    (zone, int(at), int(before - after))
    for zone in ZONES
    for table in [transitions(zone, utc("2005-01-01"), utc("2026-12-31"))]
    for at, before, after in zip(table.at, table.offsets[:-1], table.offsets[1:], strict=True)
    if before > after
]


@settings(deadline=None)
@given(
    fold=st.sampled_from(FOLDS),
    seconds=st.integers(1, 3600),
    lead=st.integers(1, 200),
    phase=st.integers(0, 3_600_000),
    newest_first=st.booleans(),
)
def test_an_unbroken_log_through_a_repeated_hour_comes_back(
    fold: tuple[str, int, int], seconds: int, lead: int, phase: int, newest_first: bool
) -> None:
    """A logger that follows its zone and logs through the change: every moment is found again, nothing is doubtful."""
    zone, at, length = fold
    interval = min(seconds * 1000, length)
    count = min(lead, 10) + length // interval + 10
    truth = at - length + phase % interval + interval * (np.arange(2 * count) - min(lead, 10))
    truth = truth[::-1] if newest_first else truth
    basis = Basis.in_zone(zone)
    moments, flags = basis.to_utc(basis.from_utc(truth))
    np.testing.assert_array_equal(moments, truth)
    assert not flags.any()


def test_an_hourly_log_shows_the_repeated_hour_as_two_equal_stamps() -> None:
    moments, flags = placed("Europe/Berlin", *[f"2024-10-27T0{hour}:00" for hour in (1, 2, 2, 3, 4)])
    assert np.diff(moments).tolist() == [HOUR_MS] * 4
    assert flags == [0] * 5


def test_equal_stamps_of_a_faster_log_are_no_clock_change() -> None:
    """A logger that prints whole minutes and now and then stores twice in one."""
    for minutes in ((10, 11, 11, 12, 13), (10, 10, 11, 11, 12, 12)):
        stamps = [f"2024-10-27T02:{minute:02d}" for minute in minutes]
        assert placed("Europe/Berlin", *stamps)[1] == [Flag.CLOCK_DOUBTFUL] * len(stamps)


def test_a_step_back_into_a_repeated_hour_from_outside_is_no_clock_change() -> None:
    """The change of the clock leads from 02:59 to 02:00, never from 04:00 to 02:10."""
    stamps = [f"2024-10-27T{text}" for text in ("01:00", "02:50", "04:00", "02:10", "02:20", "05:00")]
    assert [bool(flag) for flag in placed("Europe/Berlin", *stamps)[1]] == [False, True, False, True, True, False]


def test_two_steps_back_in_a_repeated_hour_are_not_guessed_at() -> None:
    """The clock change and a clock set back in the same hour: which is which, the file does not say."""
    stamps = [f"2024-10-27T02:{minute:02d}" for minute in (10, 50, 5, 30, 20, 40)]
    assert placed("Europe/Berlin", *stamps)[1] == [Flag.CLOCK_DOUBTFUL] * 6


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(-(2**53), 2**53), min_size=1, max_size=5))
def test_stamps_beyond_any_calendar_do_not_fail(stamps: list[int]) -> None:
    basis = Basis.in_zone("Europe/Berlin")
    moments, _ = basis.to_utc(stamps)
    assert np.all(np.abs(np.asarray(stamps) - moments) <= 2 * HOUR_MS)


@pytest.mark.parametrize("basis", [Basis.utc(), Basis.fixed(60), Basis.in_zone("Europe/Berlin")])
def test_no_stamps_no_moments(basis: Basis) -> None:
    moments, flags = basis.to_utc([])
    assert moments.size == flags.size == basis.from_utc([]).size == 0


def test_two_million_stamps_cost_two_searches_not_two_million_calls() -> None:
    """Per stamp at least 10 times faster than asking ``zoneinfo`` (about 70 times where this was written, less where
    others use the memory too)."""
    zone, stamps = ZoneInfo("Europe/Berlin"), wall("2020-01-01") + 60_000 * np.arange(2_000_000)
    basis = Basis.in_zone("Europe/Berlin")
    basis.to_utc(stamps[::1000])  # the zone's table, once
    began = time.process_time()
    moments, _ = basis.to_utc(stamps)
    ours = time.process_time() - began
    began = time.process_time()
    some = [(datetime(2020, 1, 1) + timedelta(minutes=i)).replace(tzinfo=zone).timestamp() for i in range(40_000)]  # noqa: DTZ001
    theirs = (time.process_time() - began) * 50
    assert moments[:40_000].tolist() == [round(moment * 1000) for moment in some]
    assert ours * 10 < theirs
