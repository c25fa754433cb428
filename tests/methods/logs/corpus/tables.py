"""Tables beside each other and below each other in one file, each with its truth. Common practice, no source."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import COLUMNS, MOMENTS, LogCase, Truths, truth_of

CO2, CLIMATE = COLUMNS[1:2], COLUMNS[2:]
LATER = tuple(moment + dt.timedelta(hours=2) for moment in MOMENTS)
AT_ONCE, AFTER = truth_of(CO2), truth_of(CLIMATE, LATER)
NAMES = {"co2": "CO2 (ppm)", "temperature": "Temp (°C)", "humidity": "RH (%)"}
#: How a stamp is written, in as many columns as it has names.
FORMS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "whole stamps": (("Time",), ("%Y-%m-%d %H:%M:%S",)),
    "stamps and their zone's": (("Time UTC", "Local time"), ("%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S")),
    "date and time": (("Date", "Time"), ("%d.%m.%Y", "%H:%M:%S")),
    "times of day": (("Time",), ("%H:%M:%S",)),
    "seconds since 1970": (("Timestamp",), ("%s",)),
}


def _stamp(moment: dt.datetime, form: str) -> str:
    return str(int(moment.replace(tzinfo=dt.UTC).timestamp())) if form == "%s" else f"{moment:{form}}"


def beside(kind: str, gap: int = 1, moments: Sequence[dt.datetime] = LATER, last: int = 10) -> bytes:
    """Carbon dioxide, ``gap`` empty columns, and the climate with stamps of its own in its first ``last`` lines."""
    names, forms = FORMS[kind]
    lines = [[*names, NAMES["co2"], *[""] * gap, *names, NAMES["temperature"], NAMES["humidity"]]]
    for n, (here, there) in enumerate(zip(MOMENTS, moments, strict=True)):
        second = [*(_stamp(there, form) for form in forms), *(texts[n] for _, _, texts in CLIMATE)]
        stamps = [_stamp(here, form) for form in forms]
        lines.append([*stamps, CO2[0][2][n], *[""] * gap, *(second if n < last else [""] * len(second))])
    return "".join(";".join(line) + "\n" for line in lines).encode()


def _either(name: str, content: bytes, after: Truths = AFTER) -> Iterator[LogCase]:
    """The first table, and the second one."""
    for at, truth in (("column 1", AT_ONCE), ("column 4", after)):
        answers = by_code({"stamp_column": f"Time in {at}"})
        yield LogCase(f"tables beside each other: {name}, {at}", content, AT_ONCE | AFTER, answers, truth)


#: How a block says what it is of; the names of its columns stand below, or above all of them.
BLOCK_HEADS = ("Sensor;{}", "Sensor: {}", "[{}]", "Parameter;{}", "{}")
GASES = (("co2", "ppm", COLUMNS[1][2]), ("co", "ppm", COLUMNS[2][2]))
GAS_NAMES = ("CO2", "Carbon monoxide")


def blocks() -> Iterator[LogCase]:
    """Two gases in one unit, below each other: nothing but the line between them tells which is which."""
    for head in BLOCK_HEADS:
        for names, tail in (("Time;Value;Unit", ";ppm"), ("Time;Value", "")):
            lines = []
            for name, (_, _, texts) in zip(GAS_NAMES, GASES, strict=True):
                lines += [head.format(name), names]
                lines += [
                    f"{moment:%Y-%m-%d %H:%M:%S};{text}{tail}" for moment, text in zip(MOMENTS, texts, strict=True)
                ]
            content = "".join(f"{line}\n" for line in lines).encode()
            answers = by_code({"parameter": "Carbon dioxide", "unit": "ppm"})
            yield LogCase(f"blocks below each other: {head}, {names}", content, truth_of(GASES), answers)


def tables() -> Iterator[LogCase]:
    yield from blocks()
    yield from _either("an empty column between", beside("whole stamps"))
    short = truth_of([(parameter, unit, texts[:4]) for parameter, unit, texts in CLIMATE], LATER)
    yield from _either("the second is short", beside("whole stamps", last=4), short)
    late = (*MOMENTS[:-1], LATER[-1])
    last = truth_of(CLIMATE, late)
    yield from _either("another time in the last line", beside("whole stamps", moments=late), last)
    yield LogCase(
        "tables beside each other: of one time", beside("whole stamps", moments=MOMENTS), truth_of(COLUMNS[1:])
    )
    utc = by_code({"stamp_column": "Local time in column 5", "clock_column": "no"})
    yield LogCase(
        "tables beside each other: two clocks", beside("stamps and their zone's", 0), AT_ONCE | AFTER, utc, AFTER
    )
    for kind in ("date and time", "times of day", "seconds since 1970"):
        yield LogCase(f"tables beside each other: {kind}", beside(kind), AT_ONCE | AFTER)
