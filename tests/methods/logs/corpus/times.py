"""Every way in which logs say when a reading was taken, each with its truth. Common practice of loggers and
spreadsheets, no source; ordinal dates and the basic format are those of ISO 8601."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.faults import BOTH, CO2, HCHO, HEAD, Table
from tests.methods.logs.corpus.truth import (
    CARBON_DIOXIDE,
    FORMALDEHYDE,
    MINUTE,
    MOMENTS,
    LogCase,
    TrueReading,
    truth_of,
)
from tests.methods.logs.logs import ms_of

Write = Callable[[dt.datetime], Sequence[str]]
HOUR, DAY = dt.timedelta(hours=1), dt.timedelta(days=1)
NIGHT = tuple(dt.datetime(2026, 9, 15, 23, 55) + n * MINUTE for n in range(10))  # noqa: DTZ001
HOURLY = tuple(dt.datetime(2026, 9, 15, 18) + n * HOUR for n in range(10))  # noqa: DTZ001
AT_NIGHT = truth_of((HCHO, CO2), NIGHT)
DAY_SAID = by_code({"start": "2026-09-15"})


def lines_of(write: Write, moments: Sequence[dt.datetime] = MOMENTS) -> list[tuple[str, ...]]:
    return [(*write(m), f, c) for m, f, c in zip(moments, FORMALDEHYDE, CARBON_DIOXIDE, strict=True)]


def table_of(table: Table, names: Sequence[str], write: Write, moments: Sequence[dt.datetime] = MOMENTS) -> bytes:
    return table([*names, *HEAD[1:]], *lines_of(write, moments))


# --- parts ------------------------------------------------------------------------------------------------------------

PARTS: dict[str, tuple[str, str]] = {
    "Year Month Day Hour Minute Second": ("English", "Y m d H M S"),
    "Year Month Day Hour Minute": ("English, no seconds", "Y m d H M"),
    "Day Month Year Hour Min Sec": ("English, day first", "d m Y H M S"),
    "Hour Minute Day Month Year": ("English, time first", "H M d m Y"),
    "YYYY MM DD HH MM SS": ("letters", "Y m d H M S"),
    "DD MM YY HH MM": ("letters, day first", "d m y H M"),
    "y m d h m s": ("single letters", "Y m d H M S"),
    "Jahr Monat Tag Stunde Minute Sekunde": ("German", "Y m d H M S"),
    "Tag Monat Jahr Std Min": ("German, day first", "d m Y H M"),
    "Année Mois Jour Heure Minute Seconde": ("French", "Y m d H M S"),
    "Año Mes Día Hora Minuto Segundo": ("Spanish", "Y m d H M S"),
    "Anno Mese Giorno Ora Minuto Secondo": ("Italian", "Y m d H M S"),
    "Jaar Maand Dag Uur Minuut": ("Dutch", "Y m d H M"),
    "Ano Mês Dia Hora Minuto": ("Portuguese", "Y m d H M"),
    "År Månad Dag Timme Minut": ("Swedish", "Y m d H M"),
    "Date Hour Minute": ("date, hour and minute", "F H M"),
    "Datum Stunde Minute Sekunde": ("date and parts", "F H M S"),
    "Year DOY Hour Minute": ("day of the year", "Y j H M"),
    "Year Month Day Time": ("parts and a time", "Y m d T"),
}


def written(moment: dt.datetime, part: str, *, padded: bool) -> str:
    text = f"{moment:%Y-%m-%d}" if part == "F" else f"{moment:%H:%M:%S}" if part == "T" else f"{moment:%{part}}"
    return text if padded or not text.isdigit() or part == "y" else str(int(text))


def parts(table: Table) -> Iterator[LogCase]:
    for names, (name, kept) in PARTS.items():
        for padded in (True, False):
            content = table_of(table, names.split(), lambda m, p=padded, k=kept: [written(m, q, padded=p) for q in k.split()])  # type: ignore[misc] # fmt: skip # noqa: E501
            yield LogCase(f"date in parts: {name}{', padded' * padded}", content, BOTH)
    lines = [(*[written(m, q, padded=False) for q in ["Y", "m", "d", "H", "M", "S"]], c) for m, c in zip(MOMENTS, CARBON_DIOXIDE, strict=True)]  # fmt: skip # noqa: E501
    said = by_code(
        {"time_parts": "year, month, day, hour, minute, second", "parameter": "Carbon dioxide", "unit": "ppm"}
    )
    yield LogCase("date in parts: no names", table(*lines), truth_of((CO2,)), said)
    for names, form in (
        ("Date Hour Minute AM/PM", "%Y-%m-%d %I %M %p"),
        ("Day Month Year Hour Minute AM/PM", "%d %m %Y %I %M %p"),
    ):
        later = tuple(m + n * 2 * HOUR for n, m in enumerate(MOMENTS))
        content = table_of(table, names.split(), lambda m, f=form: f"{m:{f}}".split(), later)  # type: ignore[misc]
        yield LogCase(f"date in parts: halves of the day, {names[:4]}", content, truth_of((HCHO, CO2), later))
    content = table_of(table, ["Time", "Hour"], lambda m: [f"{m:%Y-%m-%d} 00:00", f"{m:%H}"], HOURLY)
    yield LogCase("date in parts: an hour beside midnights", content, truth_of((HCHO, CO2), HOURLY))
    night = [m - MINUTE for m in NIGHT]
    content = table_of(table, ["Year", "Month", "Day", "Hour", "Minute"], lambda m: until_24(m).split(), night)
    yield LogCase("date in parts: hour 24", content, truth_of((HCHO, CO2), tuple(night)))


def until_24(moment: dt.datetime) -> str:
    """Midnight as the end of the day before."""
    if (moment.hour, moment.minute) != (0, 0):
        return f"{moment:%Y %m %d %H %M}"
    return f"{moment - DAY:%Y %m %d} 24 00"


# --- digits -----------------------------------------------------------------------------------------------------------

DIGITS: dict[str, tuple[Sequence[str], Write]] = {
    "hhmm": (("Date", "Time"), lambda m: (f"{m:%Y-%m-%d}", f"{m:%H%M}")),
    "hhmmss": (("Date", "Time"), lambda m: (f"{m:%Y-%m-%d}", f"{m:%H%M%S}")),
    "day of the year": (("Date", "Time"), lambda m: (f"{m:%Y-%j}", f"{m:%H:%M}")),
    "day of the year, digits": (("Date", "Time"), lambda m: (f"{m:%Y%j}", f"{m:%H:%M}")),
    "day of the year with a time": (("Time",), lambda m: (f"{m:%Y-%j %H:%M:%S}",)),
    "basic format": (("Time",), lambda m: (f"{m:%Y%m%dT%H%M}",)),
    "basic format with seconds": (("Time",), lambda m: (f"{m:%Y%m%dT%H%M%S}",)),
    "seconds since 1970": (("Time",), lambda m: (f"{since(m):.0f}",)),
    "milliseconds since 1970": (("Time",), lambda m: (f"{since(m) * 1000:.0f}",)),
    "microseconds since 1970": (("Time",), lambda m: (f"{since(m) * 1_000_000:.0f}",)),
    "nanoseconds since 1970": (("Time",), lambda m: (f"{since(m) * 1_000_000_000:.0f}",)),
}


def since(moment: dt.datetime) -> float:
    return (moment - dt.datetime(1970, 1, 1)) / dt.timedelta(seconds=1)  # noqa: DTZ001


def digits(table: Table) -> Iterator[LogCase]:
    for name, (names, write) in DIGITS.items():
        yield LogCase(f"digits: {name}", table_of(table, names, write), BOTH)
    in_utc = table_of(table, ["Time"], lambda m: [f"{m:%Y%m%dT%H%M%SZ}"])
    yield LogCase("digits: basic format in UTC", in_utc, BOTH, in_utc=True)
    for name, begin, said in (("over the hour", 55, {}), ("within the hour", 5, {"clock_column": "hours and minutes"})):
        moments = tuple(dt.datetime(2026, 9, 15, 9, begin) + n * MINUTE for n in range(10))  # noqa: DTZ001
        content = table_of(table, ["Date", "Time"], lambda m: [f"{m:%Y-%m-%d}", f"{m.hour * 100 + m.minute}"], moments)
        yield LogCase(f"digits: no zero in front, {name}", content, truth_of((HCHO, CO2), moments), by_code(said))
    night = tuple(dt.datetime(2026, 9, 16) + n * MINUTE for n in range(10))  # noqa: DTZ001
    content = table_of(table, ["Date", "Time"], lambda m: [f"{m:%Y-%m-%d}", f"{m.minute}"], night)
    of_day = by_code({"clock_column": "minutes since midnight"})
    yield LogCase("digits: minutes since midnight", content, truth_of((HCHO, CO2), night), of_day)


def decimals(table: Table) -> Iterator[LogCase]:
    """Hours as decimals, and hours and minutes with a point: beside a date they are written alike."""
    ways: dict[str, tuple[str, dt.timedelta, Callable[[dt.datetime], str]]] = {
        "hours": ("hours since", HOUR / 2, lambda m: f"{m.hour + m.minute / 60:.2f}"),
        "hours, padded": ("hours since", HOUR / 2, lambda m: f"{m.hour + m.minute / 60:05.2f}"),
        "hours, quarters": ("hours since", HOUR / 4, lambda m: f"{m.hour + m.minute / 60:.2f}"),
        "hours, one digit": ("hours since", HOUR / 2, lambda m: f"{m.hour + m.minute / 60:.1f}"),
        "minutes behind a point": ("hours and minutes", MINUTE, lambda m: f"{m.hour}.{m:%M}"),
        "half hours behind a point": ("hours and minutes", HOUR / 2, lambda m: f"{m.hour}.{m:%M}"),
    }
    for name, (said, step, write) in ways.items():
        for heading in ("Hour", "Time", "Uhrzeit"):
            for begin in (dt.datetime(2026, 9, 16), dt.datetime(2026, 9, 15, 9, 30)):  # noqa: DTZ001
                moments = tuple(begin + n * step for n in range(10))
                truth = truth_of((HCHO, CO2), moments)
                beside: Write = lambda m, w=write: [f"{m:%Y-%m-%d}", w(m)]  # type: ignore[misc] # noqa: E731
                content = table_of(table, ["Date", heading], beside, moments)
                answers = by_code({"clock_column": said})
                yield LogCase(f"decimal times: {name}, {heading}, from {begin:%H:%M}", content, truth, answers)
        alone: Write = lambda m, w=write: [w(m)]  # type: ignore[misc] # noqa: E731
        answers = by_code({"elapsed_unit": said, "start": f"{begin:%Y-%m-%d}"})
        yield LogCase(f"decimal times: {name}, no date", table_of(table, ["Time"], alone, moments), truth, answers)


#: Names, what stands under them (F a date, T a time of day, E an hour after it), and what is answered.
BESIDE: dict[str, tuple[str, str, str]] = {
    "calibration": ("Calibration date;Date;Time", "2026-03-01 F T", ""),
    "sunrise": ("Date;Sunrise;Time", "F 06:30 T", ""),
    "end and start": ("Date;End;Start", "F E T", "Date: 2026-09-15, Start"),
    "UTC": ("Date;UTC time;Time", "F E T", "Date: 2026-09-15, Time"),
    "a start": ("Start date;Time", "2026-09-15 T", "Time: 23:55 alone"),
    "the first date": ("Date;Time", "2026-09-15 T", "Time: 23:55 alone"),
    "calibration alone": ("Calibration date;Time", "2026-03-01 T", "Time: 23:55 alone"),
}


def rivals(table: Table) -> Iterator[LogCase]:
    """Dates and times of something else beside those of the readings."""
    for name, (names, kept, said) in BESIDE.items():
        parts = [{"F": "%Y-%m-%d", "T": "%H:%M", "E": "E"}.get(part, part) for part in kept.split()]
        write: Write = lambda m, p=parts: [f"{m + HOUR:%H:%M}" if q == "E" else f"{m:{q}}" for q in p]  # type: ignore[misc] # noqa: E731
        answers = by_code({"stamp_column": said, "start": "2026-09-15"})
        content = table_of(table, names.split(";"), write, NIGHT)
        yield LogCase(f"other dates beside: {name}", content, AT_NIGHT, answers)


def end_of_day(table: Table) -> Iterator[LogCase]:
    for form, at_midnight in (("%H:%M", "24:00"), ("%H:%M:%S", "24:00:00")):

        def write(moment: dt.datetime, form: str = form, last: str = at_midnight) -> tuple[str, str]:
            is_end = (moment.hour, moment.minute) == (0, 0)
            return (f"{moment - DAY * is_end:%Y-%m-%d}", last if is_end else f"{moment:{form}}")

        apart = table_of(table, ["Date", "Time"], write, NIGHT)
        yield LogCase(f"end of the day: {at_midnight} apart", apart, AT_NIGHT)
        whole = table_of(table, ["Time"], lambda m: [" ".join(write(m))], NIGHT)
        yield LogCase(f"end of the day: {at_midnight} in one", whole, AT_NIGHT)


# --- what is lacking --------------------------------------------------------------------------------------------------


def again(table: Table) -> Iterator[LogCase]:
    """A logger that was started a second time: when, nothing says."""
    lines = [(f"{60 * (n % 5)}", f, c) for n, (f, c) in enumerate(zip(FORMALDEHYDE, CARBON_DIOXIDE, strict=True))]
    said = by_code({"start": "2026-09-15T08:00"})
    yield LogCase("time gone by: started again", table(["Elapsed (s)", *HEAD[1:]], *lines), BOTH, said)
    minutes = table_of(table, ["Time"], lambda m: [f"{m.minute:02d}:{m.second:02d}"])
    said = by_code({"start": "2026-09-15T08:00", "elapsed_unit": "minutes and seconds"})
    yield LogCase("time gone by: minutes and seconds", minutes, BOTH, said)


def clock_of(seconds: float) -> str:
    return f"{seconds // 3600:02.0f}:{seconds // 60 % 60:02.0f}:{seconds % 60:02.0f}"


def elapsed(table: Table) -> Iterator[LogCase]:
    start, far = MOMENTS[0], tuple(MOMENTS[0] + n * 7 * HOUR for n in range(10))
    typed = by_code({"start": "2026-09-15T08:00", "elapsed_unit": "minutes"})
    ways: dict[str, tuple[str, Callable[[float], str], float]] = {
        "seconds": ("Elapsed (s)", lambda n: f"{n:.0f}", 1), "minutes": ("Zeit [min]", lambda n: f"{n:.0f}", 60),
        "hours": ("Elapsed hours", lambda n: f"{n:.9f}", 3600),
        "days": ("Days since start", lambda n: f"{n:.9f}", 86_400),
        "no unit": ("Elapsed", lambda n: f"{n:.0f}", 60),
        "hours, minutes, seconds": ("Elapsed time", clock_of, 1),
    }  # fmt: skip
    for name, (heading, show, unit) in ways.items():
        for span, moments in (("minutes", MOMENTS), ("days", far)):
            write: Write = lambda m, s=show, u=unit: [s((m - start) / dt.timedelta(seconds=u))]  # type: ignore[misc] # noqa: E731
            content, truth = table_of(table, [heading], write, moments), truth_of((HCHO, CO2), moments)
            yield LogCase(f"time gone by: {name}, over {span}", content, truth, typed)
            for said in ("Start time", "Startzeit", "Début"):
                above = table([said, f"{start:%Y-%m-%d %H:%M:%S}"]) + content
                offered = by_code({"start": "2026-09-15 08:00:00: line 1", "elapsed_unit": "minutes"})
                yield LogCase(f"time gone by: {name}, over {span}, {said}", above, truth, offered)


def no_date(table: Table) -> Iterator[LogCase]:
    for form in ("%H:%M:%S", "%H:%M"):
        by_day = table_of(table, ["Time"], lambda m, f=form: [f"{m:{f}}"])  # type: ignore[misc]
        by_night = table_of(table, ["Time"], lambda m, f=form: [f"{m:{f}}"], NIGHT)  # type: ignore[misc]
        for name, content, truth in (("by day", by_day, BOTH), ("past midnight", by_night, AT_NIGHT)):
            yield LogCase(f"no date: {name}, {form[-2:]}", content, truth, DAY_SAID)
            yield LogCase(
                f"no date: {name}, {form[-2:]}, in the name", content, truth, NAMED, filename="2026-09-15.csv"
            )
            above = table(["Date", "15.09.2026"]) + content
            yield LogCase(
                f"no date: {name}, {form[-2:]}, above", above, truth, by_code({"start": "2026-09-15: line 1"})
            )
    backwards = table_of(table, ["Time"], lambda m: [f"{m:%H:%M:%S}"], NIGHT[::-1])
    newest = truth_of((HCHO, CO2), NIGHT[::-1])
    yield LogCase("no date: newest first", backwards, newest, by_code({"start": "2026-09-16"}))
    early = tuple(m + 5 * MINUTE for m in NIGHT)
    content = table_of(table, ["Time"], lambda m: [f"{m:%H:%M:%S}"], early)
    yield LogCase("no date: from midnight on", content, truth_of((HCHO, CO2), early), by_code({"start": "2026-09-16"}))
    yield from between(table)


NAMED = by_code({"start": "2026-09-15: the name of the file"})


def between(table: Table) -> Iterator[LogCase]:
    moments = tuple(m + DAY * 3 * (n > 4) for n, m in enumerate(MOMENTS))
    truth, lines = truth_of((HCHO, CO2), moments), lines_of(lambda m: [f"{m:%H:%M:%S}"], moments)
    said = by_code({"start": "the dates in lines between"})
    for form in ("%Y-%m-%d", "%d.%m.%Y", "%d %B %Y"):
        first, second = (f"Date: {m:{form}}" for m in (moments[0], moments[-1]))
        content = table([first], HEAD, *lines[:5], [second], *lines[5:])
        yield LogCase(f"dates between the readings: {form[-3:]}, above the names, too", content, truth, said)
        content = table(HEAD, [first], *lines[:5], [second], *lines[5:])
        yield LogCase(f"dates between the readings: {form[-3:]}, below the names", content, truth, said)


def no_year(table: Table) -> Iterator[LogCase]:
    turn = tuple(dt.datetime(2026, 12, 31, 23, 55) + n * MINUTE for n in range(10))  # noqa: DTZ001
    leap = tuple(dt.datetime(2028, 2, 28, 23, 55) + n * 3 * HOUR for n in range(10))  # noqa: DTZ001
    for form in ("%m-%d %H:%M", "%d %b %H:%M", "%b %d %H:%M:%S", "%d.%m. %H:%M"):
        for name, moments in (("one day", MOMENTS), ("the turn of the year", turn), ("a leap day", leap)):
            content = table_of(table, ["Time"], lambda m, f=form: [f"{m:{f}}"], moments)  # type: ignore[misc]
            truth, first = truth_of((HCHO, CO2), moments), f"{moments[0]:%Y}"
            case = LogCase(f"no year: {form}, {name}", content, truth, by_code({"start": first}))
            yield case
            yield replace(case, name=f"{case.name}, in the name", filename=f"log {first}.csv")
    apart = table_of(table, ["Date", "Time"], lambda m: [f"{m:%d.%m.}", f"{m:%H:%M}"])
    yield LogCase("no year: date and time apart", apart, BOTH, by_code({"start": "2026"}))
    content = table_of(table, ["Month", "Day", "Hour", "Minute"], lambda m: f"{m:%m %d %H %M}".split())
    yield LogCase("no year: in parts", content, BOTH, by_code({"start": "2026"}))


# --- a line to a day --------------------------------------------------------------------------------------------------

HEADINGS: dict[str, tuple[Callable[[int], str], int]] = {
    "0 to 23": (str, 0), "00:00 to 23:00": (lambda h: f"{h:02d}:00", 0),
    "00-01 to 23-24": (lambda h: f"{h:02d}-{h + 1:02d}", 0),
    "1 to 24": (str, 1), "H01 to H24": (lambda h: f"H{h:02d}", 1), "01:00 to 24:00": (lambda h: f"{h:02d}:00", 1),
}  # fmt: skip


#: What stands above the headings; cells that are not there are empty.
TITLES: dict[str, tuple[Sequence[str], ...]] = {
    "words": (("Carbon dioxide in ppm",), ()),
    "numbers": (("Station", "7"), ("Serial", "4711", "Height", "120")),
    "dates": (("Period", "2026-09-15", "2026-09-17"), ("Made", "2026-09-18 10:00", "7")),
}


def titled_hours(table: Table) -> Iterator[LogCase]:
    """One day and several, below titles as short as they are and as long as the lines below them."""
    said = by_code({"hours": "as it is headed", "parameter": "Carbon dioxide", "unit": "ppm"})
    for days in (1, 4):
        moments = [dt.datetime(2026, 9, 15 + n) for n in range(days)]  # noqa: DTZ001
        lines = [(f"{day:%Y-%m-%d}", *(f"{600 + h}" for h in range(24))) for day in moments]
        truth = frozenset(
            TrueReading(ms_of(day + h * HOUR), "co2", "ppm", 600.0 + h) for day in moments for h in range(24)
        )
        for name, title in TITLES.items():
            for width in (0, 25):
                above = [[*cells, *[""] * (width - len(cells))] for cells in title]
                content = table(*above, ["Date", *(f"{h:02d}:00" for h in range(24))], *lines)
                case = f"hours in columns: {days} days below {name}, {'filled up' if width else 'short'}"
                yield LogCase(case, content, truth, said)


def hours(table: Table) -> Iterator[LogCase]:
    days = [dt.datetime(2026, 9, 15 + n) for n in range(3)]  # noqa: DTZ001
    cells = {day: [f"{600 + 24 * n + h}" if (n, h) != (1, 5) else "" for h in range(24)] for n, day in enumerate(days)}
    for name, (label, first) in HEADINGS.items():
        lines = [(f"{day:%Y-%m-%d}", *cells[day]) for day in days]
        content = table(["Date", *map(label, range(first, first + 24))], *lines)
        for words, behind in (("as it is headed", first), ("at the", 1 - first)):
            truth = frozenset(
                TrueReading(ms_of(day + (h + behind) * HOUR), "co2", "ppm", float(text))
                for day in days
                for h, text in enumerate(cells[day])
                if text
            )
            said = by_code({"hours": words, "parameter": "Carbon dioxide", "unit": "ppm"})
            yield LogCase(f"hours in columns: {name}, {words}", content, truth, said)
    kinds = [(f"{day:%Y-%m-%d}", kind, *cells[day]) for day in days for kind in ("CO2 (ppm)", "Temp (°C)")]
    content = table(["Date", "Parameter", *map(str, range(24))], *kinds)
    yield LogCase("hours in columns: several kinds", content, frozenset())


def timed() -> Iterator[LogCase]:
    for name, delimiter in {"commas": ",", "semicolons": ";", "tabs": "\t"}.items():
        for family in (
            parts,
            digits,
            decimals,
            rivals,
            end_of_day,
            elapsed,
            again,
            no_date,
            no_year,
            hours,
            titled_hours,
        ):
            for case in family(Table(delimiter)):
                yield replace(case, name=f"{case.name} ({name})")
