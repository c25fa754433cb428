"""Logs that write both ends of the interval of a reading, and times with an offset that look like it. Common practice
of reports and tables of hourly means, no source; that an offset stands behind a time is ISO 8601."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from itertools import product

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import CARBON_DIOXIDE, COLUMNS, LogCase, truth_of

CO2 = COLUMNS[1:2]
DASHES = ("-", " - ", "–", " to ")
#: How many minutes an interval has.
LENGTHS = (30, 60, 480)
#: Names of the time, and how a day is written before its interval.
DAYS = {"%Y-%m-%d ": ("Time",), "%d.%m.%Y ": ("Zeit",), "%Y-%m-%d;": ("Date", "Interval"), "": ("Time",)}
BEGIN = dt.datetime(2026, 9, 15, 20)  # noqa: DTZ001


def log(names: Sequence[str], stamps: Sequence[str]) -> bytes:
    lines = [";".join([*names, "CO2 (ppm)"]), *(f"{s};{co2}" for s, co2 in zip(stamps, CARBON_DIOXIDE, strict=False))]
    return "".join(f"{line}\n" for line in lines).encode()


def _written(form: str, clock: str, dash: str, begin: dt.datetime, end: dt.datetime) -> str:
    clocks = [f"{moment:{clock}}" for moment in (begin, end)]
    day = f"{begin:{form}}" if form else ""
    return f"{day}{dash.join(clocks)}"


def intervals() -> Iterator[LogCase]:
    """Through midnight, each line beginning where the one before ended."""
    for minutes, dash, form in product(LENGTHS, DASHES, DAYS):
        long = dt.timedelta(minutes=minutes)
        begins = tuple(BEGIN + n * long for n in range(10))
        for clock in ("%H:%M", "%I:%M %p", "%H:%M:%S") if minutes == 60 else ("%H:%M",):
            content = log(DAYS[form], [_written(form, clock, dash, b, b + long) for b in begins])
            for end, ends in (("at the beginning", begins), ("at the end", tuple(b + long for b in begins))):
                said = by_code({"interval": end, "start": "2026-09-15", "day_or_month": "the day"})
                name = f"intervals: {minutes} minutes, {clock}, “{dash}” behind “{form}”, {end}"
                yield LogCase(name, content, truth_of(CO2, begins), said, truth_of(CO2, ends))
    yield from once_a_day()


def once_a_day() -> Iterator[LogCase]:
    """The same clock in each line: nothing but a person tells an interval from an offset."""
    days = tuple(dt.datetime(2026, 9, 15, 8) + dt.timedelta(days=n) for n in range(10))  # noqa: DTZ001
    content = log(["Time"], [f"{day:%Y-%m-%d %H:%M}-09:00" for day in days])
    for end, hours in (("at the beginning", 0), ("at the end", 1), ("neither", 9)):
        truth = truth_of(CO2, days, dt.timedelta(hours=hours))
        yield LogCase(f"intervals: once a day, {end}", content, truth, by_code({"interval": end}))


def offsets() -> Iterator[LogCase]:
    """Each of these says how far its clock is from UTC, through the end of summer time, too."""
    for form, hours, step in product(("%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%Y-%m-%dT%H:%M"), (3, 5, 9), (15, 60, 120)):
        begin = dt.datetime(2026, 10, 31, 22, 15)  # noqa: DTZ001
        moments = tuple(begin + n * dt.timedelta(minutes=step) for n in range(10))
        for name, behind in (("winter", [hours] * 10), ("the end of summer time", [hours - 1] * 4 + [hours] * 6)):
            local = [moment - dt.timedelta(hours=h) for moment, h in zip(moments, behind, strict=True)]
            stamps = [f"{moment:{form}}-{h:02d}:00" for moment, h in zip(local, behind, strict=True)]
            yield LogCase(f"offsets: {form}, {hours} h, {step} min, {name}", log(["Time"], stamps), truth_of(CO2, moments), in_utc=True)  # fmt: skip # noqa: E501
