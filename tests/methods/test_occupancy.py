"""Timetables of use: as people write them, and the moments they stand for, summer time and nights included."""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from methods.averages.occupancy import DAY_MINUTES, ClosedDays, Hours, SpecialDay, Timetable
from methods.averages.timetable_text import UnreadableTimetable, in_words, read, written
from methods.quantities.moments import utc_moment, utc_ms

BERLIN = "Europe/Berlin"
HOUR = 3_600_000


def hours_of_a_day(draw: st.DrawFn) -> tuple[Hours, ...]:
    """Up to three, in order, that neither touch nor overlap."""
    cuts = sorted(draw(st.sets(st.integers(0, DAY_MINUTES - 1), max_size=6)))
    return tuple(Hours(a, b) for a, b in zip(cuts[::2], cuts[1::2], strict=False))


@st.composite
def timetables(draw: st.DrawFn) -> Timetable:
    week = tuple(hours_of_a_day(draw) for _ in range(7))
    dates = st.dates(date(2026, 3, 1), date(2026, 4, 30))
    closed = sorted(draw(st.sets(st.tuples(dates, st.integers(0, 9)), max_size=3)))
    special = sorted(draw(st.sets(dates, max_size=3)))
    days = tuple(SpecialDay(day, hours) for day in special if (hours := hours_of_a_day(draw)))
    return Timetable(week, tuple(ClosedDays(day, day + timedelta(days=n)) for day, n in closed), days)


@given(timetables())
@settings(max_examples=60)
def test_what_is_written_is_read_back(timetable: Timetable) -> None:
    assert read(written(timetable)) == timetable
    if written(timetable):
        assert read(in_words(timetable)) == timetable


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Mon-Fri 08:00-16:00; closed 2026-12-24", "Mon-Fri 08:00-16:00\nclosed 2026-12-24"),
        ("Monday to Friday: 8:00 – 12:00, 13.00-16h00", "Mon-Fri 08:00-12:00, 13:00-16:00"),
        ("weekdays 8-16\nweekend 10-12", "Mon-Fri 08:00-16:00\nSat-Sun 10:00-12:00"),
        ("daily 22:00-07:00", "Mon-Sun 22:00-07:00"),
        ("daily 0:00-24:00", "Mon-Sun 00:00-24:00"),
        ("Sat-Mon 9:00-10:00", "Mon 09:00-10:00\nSat-Sun 09:00-10:00"),
        ("Mon, Wed, fri. 9-10; mon 10-11", "Mon 09:00-11:00\nWed 09:00-10:00\nFri 09:00-10:00"),
        ("holidays 2026-12-24 to 2027-01-06, 2026-10-05", "closed 2026-10-05\nclosed 2026-12-24 to 2027-01-06"),
        ("2026-09-15 8:10-12:05\n2026-09-15 13:00-14:30", "2026-09-15 08:10-12:05, 13:00-14:30"),
        ("", ""),
    ],
)
def test_many_ways_of_writing_come_to_one(text: str, expected: str) -> None:
    assert written(read(text)) == expected


@pytest.mark.parametrize(
    ("text", "entry", "words"),
    [
        ("Mon 8-16; Funday 8-16", 2, "no day of the week"),
        ("Mon 8:00", 1, "from and until"),
        ("Mon 8:00-25:00", 1, "no time of day"),
        ("Mon 8:61-9", 1, "no time of day"),
        ("Mon 24:00-02:00", 1, "begins before"),
        ("Mon\nTue 8-9", 1, "expected"),
        ("closed 2026-02-30", 1, "no date"),
        ("closed tomorrow", 1, "a date such as"),
        ("closed 2026-12-24 to 2026-12-20", 1, "end on or after"),
        ("M 8-9", 1, "no day of the week"),
        ("Mon-Tue-Wed 8-9", 1, "two ends"),
        ("\n".join(["Mon 8-9"] * 1001), 1001, "at most"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_entry(text: str, entry: int, words: str) -> None:
    with pytest.raises(UnreadableTimetable, match=words) as caught:
        read(text)
    assert caught.value.entry == entry


@given(st.text(max_size=60))
@example("Mon 08:00-16:00 closed 2026-12-24")
def test_any_text_is_read_or_refused_in_words(text: str) -> None:
    with suppress(UnreadableTimetable):
        timetable = read(text)
        assert read(written(timetable)) == timetable


def minutes_in_use(timetable: Timetable, zone: str, start: datetime, count: int) -> list[bool]:
    """Minute by minute on the clock of the place, as a person would look it up."""
    told = []
    for k in range(count):
        wall = (start + timedelta(minutes=k)).astimezone(ZoneInfo(zone))
        minute, day = wall.hour * 60 + wall.minute, wall.date()
        today = any(h.start <= minute < h.end for h in timetable.hours_on(day))
        night = any(minute + DAY_MINUTES < h.end for h in timetable.hours_on(day - timedelta(days=1)))
        told.append(today or night)
    return told


@given(timetables(), st.sampled_from([BERLIN, "Asia/Kathmandu", "America/St_Johns"]), st.integers(0, 27))
@settings(max_examples=40, deadline=None)
def test_the_moments_are_those_a_person_would_look_up(timetable: Timetable, zone: str, day: int) -> None:
    """Spring, with a missing hour in two of the places: what is missing is in nobody's use."""
    start, count = datetime(2026, 3, 8, 12, tzinfo=UTC) + timedelta(days=day), 3 * DAY_MINUTES
    span = utc_ms(start), utc_ms(start) + count * 60_000
    told = [False] * count
    for occupied in timetable.occupied(zone, *span):
        inside = occupied.within(*span)
        for lo, hi in zip(inside.start.tolist(), inside.end.tolist(), strict=True):
            for k in range((lo - span[0]) // 60_000, (hi - span[0]) // 60_000):
                assert not told[k]
                told[k] = True
    assert told == minutes_in_use(timetable, zone, start, count)


@pytest.mark.parametrize(
    ("hours", "day", "begin", "end"),
    [
        # Clocks go forward on 29 March at 02:00 (01:00 UTC), back on 25 October at 03:00 (01:00 UTC).
        ("22:00-07:00", date(2026, 3, 28), "2026-03-28 21:00", "2026-03-29 05:00"),  # eight hours
        ("22:00-07:00", date(2026, 10, 24), "2026-10-24 20:00", "2026-10-25 06:00"),  # ten
        ("02:30-05:00", date(2026, 3, 29), "2026-03-29 01:00", "2026-03-29 03:00"),  # begins as the clock jumps
        ("01:00-02:30", date(2026, 3, 29), "2026-03-29 00:00", "2026-03-29 01:00"),  # ends as it does
        ("01:00-02:30", date(2026, 10, 25), "2026-10-24 23:00", "2026-10-25 01:30"),  # the second 02:30
        ("02:30-05:00", date(2026, 10, 25), "2026-10-25 00:30", "2026-10-25 04:00"),  # from the first 02:30
        ("01:00-02:00", date(2026, 10, 25), "2026-10-24 23:00", "2026-10-25 00:00"),  # before anything is repeated
        ("08:00-16:00", date(2026, 10, 26), "2026-10-26 07:00", "2026-10-26 15:00"),
    ],
)
def test_clock_changes_by_hand(hours: str, day: date, begin: str, end: str) -> None:
    moment = utc_ms(datetime.fromisoformat(begin).replace(tzinfo=UTC))
    (occupied,) = [d for d in read(f"daily {hours}").occupied(BERLIN, moment - HOUR, moment + HOUR) if d.day == day]
    told = [utc_moment(int(edge[0])).strftime("%Y-%m-%d %H:%M") for edge in (occupied.start, occupied.end)]
    assert told == [begin, end]


def test_an_hour_that_does_not_exist_is_in_nobody_s_use() -> None:
    start = utc_ms(datetime(2026, 3, 29, tzinfo=UTC))
    assert read("Sun 02:10-02:50").occupied(BERLIN, start, start + 24 * HOUR) == []


def test_a_date_of_its_own_counts_before_closed_days_and_the_week() -> None:
    timetable = read("Mon-Fri 8-16; closed 2026-09-14 to 2026-09-18; 2026-09-16 10-12")
    start = utc_ms(datetime(2026, 9, 14, tzinfo=UTC))
    days = timetable.occupied("UTC", start, start + 5 * 24 * HOUR)
    assert [(day.day.day, day.occupied_ms // HOUR) for day in days] == [(16, 2)]


def test_a_night_and_the_hours_before_it_has_ended_are_counted_once() -> None:
    start = utc_ms(datetime(2026, 9, 14, tzinfo=UTC))
    days = read("Mon 22:00-07:00; Tue 06:00-09:00").occupied("UTC", start, start + 2 * 24 * HOUR)
    assert [day.occupied_ms // HOUR for day in days] == [9, 2]


@pytest.mark.parametrize("broken", [(-1, 5), (1440, 1450), (60, 60), (60, 1501)])
def test_hours_that_are_none_are_refused(broken: tuple[int, int]) -> None:
    with pytest.raises(ValueError, match="hours of use"):
        Hours(*broken)
