"""A timetable of use as people write it, and back.

    Mon-Fri 08:00-12:00, 13:00-16:00
    Sat 22:00-07:00
    closed 2026-12-24 to 2027-01-06
    2026-12-28 10:00-12:00

One entry a line, or several parted by semicolons. A date with hours has those instead of its weekday's. Hours that end
at or before they begin end on the next day. ``written`` puts any timetable into this one form, ``read`` takes it back.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import groupby

from methods.averages.occupancy import DAY_MINUTES, ClosedDays, Hours, SpecialDay, Timetable

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
NAMES = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
#: Words for several days at once.
GROUPS = {"daily": range(7), "every day": range(7), "weekdays": range(5), "weekend": range(5, 7)}
MOST_LINES = 1000

_DASH = re.compile(r"\s*(?:[-–—]|\bto\b|\buntil\b)\s*", re.IGNORECASE)
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_CLOCK = re.compile(r"(\d{1,2})(?:[:.h](\d{2}))?")
_ENTRY = re.compile(r"(?P<days>[^\d]*?)\s*:?\s*(?P<hours>\d.*)")
_CLOSED = re.compile(r"(?:closed|holidays?)\b:?\s*(?P<dates>.*)", re.IGNORECASE)


class UnreadableTimetable(ValueError):
    """What cannot be read, with the number of its entry (from 1) and the words for people."""

    def __init__(self, entry: int, words: str) -> None:
        super().__init__(f"Entry {entry}: {words}")
        self.entry = entry


def read(text: str) -> Timetable:
    """Raises UnreadableTimetable."""
    week: list[list[Hours]] = [[] for _ in WEEKDAYS]
    closed: list[ClosedDays] = []
    special: dict[date, tuple[Hours, ...]] = {}
    entries = [entry.strip() for entry in re.split(r"[;\n]", text) if entry.strip()]
    if len(entries) > MOST_LINES:
        raise UnreadableTimetable(MOST_LINES + 1, f"a timetable has {MOST_LINES} entries at most.")
    for number, entry in enumerate(entries, start=1):
        try:
            _take(entry, week, closed, special)
        except ValueError as problem:
            raise UnreadableTimetable(number, f"“{entry[:60]}”: {problem}") from problem
    days = tuple(SpecialDay(day, hours) for day, hours in sorted(special.items()))
    closed.sort(key=lambda span: (span.first, span.last))
    return Timetable(tuple(_united(hours) for hours in week), tuple(dict.fromkeys(closed)), days)


def _take(
    entry: str, week: list[list[Hours]], closed: list[ClosedDays], special: dict[date, tuple[Hours, ...]]
) -> None:
    if shut := _CLOSED.fullmatch(entry):
        closed.extend(_closed(shut["dates"]))
    elif dated := _DATE.match(entry):
        day, hours = _date(dated[0]), _hours(entry[dated.end() :])
        special[day] = _united([*special.get(day, ()), *hours])
    elif told := _ENTRY.fullmatch(entry):
        hours = _hours(told["hours"])
        for weekday in _weekdays(told["days"]):
            week[weekday].extend(hours)
    else:
        raise ValueError("days with hours (“Mon-Fri 08:00-16:00”), a date with hours, or “closed” with dates expected.")


def _closed(text: str) -> Iterable[ClosedDays]:
    for part in text.split(","):
        dates = _DATE.findall(part)
        rest = _DASH.sub("", _DATE.sub("", part)).strip()
        if rest or not 1 <= len(dates) <= 2:
            raise ValueError("a date such as 2026-12-24, or two of them with “to” between, expected.")
        yield ClosedDays(_date(dates[0]), _date(dates[-1]))


def _date(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ValueError(f"{text} is no date.") from None


def _weekdays(text: str) -> list[int]:
    days: list[int] = []
    for part in text.split(","):
        word = " ".join(part.lower().split())
        if word in GROUPS:
            days.extend(GROUPS[word])
            continue
        ends = [_weekday(name) for name in _DASH.split(word)]
        if len(ends) > 2:
            raise ValueError(f"“{part.strip()}” names more than two ends.")
        days.extend((ends[0] + k) % 7 for k in range((ends[-1] - ends[0]) % 7 + 1))
    return list(dict.fromkeys(days))


def _weekday(name: str) -> int:
    plain = name.strip().rstrip(".")
    for number, full in enumerate(NAMES):
        if len(plain) >= 2 and (full.startswith(plain) or full + "s" == plain):
            return number
    raise ValueError(f"“{name.strip()}” is no day of the week.")


def _hours(text: str) -> tuple[Hours, ...]:
    spans = []
    for part in text.split(","):
        ends = [_clock(end) for end in _DASH.split(part.strip())]
        if len(ends) != 2:
            raise ValueError(f"“{part.strip()}” is no hours: from and until, such as 08:00-16:00.")
        start, end = ends
        if start == DAY_MINUTES:
            raise ValueError("use begins before 24:00.")
        spans.append(Hours(start, end if end > start else end + DAY_MINUTES))
    return tuple(spans)


def _clock(text: str) -> int:
    told = _CLOCK.fullmatch(text.strip())
    if told is None:
        raise ValueError(f"“{text.strip()}” is no time of day, such as 08:00.")
    minutes = 60 * int(told[1]) + int(told[2] or 0)
    if int(told[2] or 0) > 59 or minutes > DAY_MINUTES:
        raise ValueError(f"“{text.strip()}” is no time of day.")
    return minutes


def _united(hours: Iterable[Hours]) -> tuple[Hours, ...]:
    """In order, what overlaps or touches as one, as far as that is no longer than a day."""
    kept: list[Hours] = []
    for each in sorted(hours):
        last = kept[-1] if kept else None
        end = max(last.end, each.end) if last else each.end
        if last is not None and each.start <= last.end and end - last.start <= DAY_MINUTES:
            kept[-1] = Hours(last.start, end)
        else:
            kept.append(each)
    return tuple(kept)


# --- writing ----------------------------------------------------------------------------------------------------------


def written(timetable: Timetable) -> str:
    """One entry a line: the week from Monday, then closed days, then dates with hours of their own."""
    return "\n".join([*_week_lines(timetable.week), *map(closed_text, timetable.closed), *_special_lines(timetable)])


def in_words(timetable: Timetable) -> str:
    """The same in one line, for a sentence."""
    return written(timetable).replace("\n", "; ") or "never in use"


def hours_text(hours: Sequence[Hours]) -> str:
    """ "08:00-12:00, 13:00-16:00" """
    return ", ".join(f"{_clock_text(each.start)}-{_clock_text(each.end)}" for each in hours)


def _week_lines(week: Sequence[tuple[Hours, ...]]) -> Iterable[str]:
    """Neighbours with the same hours together."""
    for hours, run in groupby(range(7), key=lambda weekday: week[weekday]):
        days = list(run)
        if hours:
            names = WEEKDAYS[days[0]] if len(days) == 1 else f"{WEEKDAYS[days[0]]}-{WEEKDAYS[days[-1]]}"
            yield f"{names} {hours_text(hours)}"


def closed_text(span: ClosedDays) -> str:
    """ "closed 2026-12-24 to 2027-01-06" """
    return f"closed {span.first}" + (f" to {span.last}" if span.last > span.first else "")


def _special_lines(timetable: Timetable) -> Iterable[str]:
    for special in timetable.days:
        yield f"{special.day} {hours_text(special.hours)}"


def _clock_text(minutes: int) -> str:
    """24:00 where the day ends; after it as the clock of the next day shows."""
    minutes = minutes if minutes <= DAY_MINUTES else minutes - DAY_MINUTES
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
