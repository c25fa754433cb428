"""Files with something in them that is easily taken for something else, each with its truth.

All of them were thought of or met as common practice of loggers and spreadsheets; none is a known product's export.
"""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Callable, Iterator, Sequence

from methods.quantities.flags import Flag
from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import (
    CARBON_DIOXIDE,
    COLUMNS,
    FORMALDEHYDE,
    HUMIDITY,
    MINUTE,
    MOMENTS,
    START,
    TEMPERATURE,
    LogCase,
    TrueReading,
    Truths,
    truth_of,
)
from tests.methods.logs.logs import ms_of

Rows = Sequence[Sequence[str]]
HCHO, CO2 = COLUMNS[:2]
PLAIN = "%Y-%m-%d %H:%M:%S"
STAMPS = [f"{moment:{PLAIN}}" for moment in MOMENTS]
HEAD = ["Time", "HCHO (ppm)", "CO2 (ppm)"]
BOTH = truth_of((HCHO, CO2))
ONLY_HCHO = truth_of((HCHO,))
NOTHING: Truths = frozenset()


class Table:
    """One table, written with one delimiter; a comma between cells puts cells with commas in quotes."""

    def __init__(self, delimiter: str) -> None:
        self.delimiter = delimiter

    def __call__(self, *lines: Sequence[str]) -> bytes:
        return "".join(self.delimiter.join(map(self._cell, line)) + "\n" for line in lines).encode()

    def _cell(self, text: str) -> str:
        return f'"{text}"' if self.delimiter in text else text

    def with_column(self, name: str, cells: Sequence[str], head: Sequence[str] = HEAD) -> bytes:
        """Formaldehyde and carbon dioxide with another column before them."""
        lines = zip(STAMPS, cells, FORMALDEHYDE, CARBON_DIOXIDE, strict=True)
        return self([head[0], name, *head[1:]], *lines)

    def instead(self, name: str, cells: Sequence[str]) -> bytes:
        """Formaldehyde, and another column behind it."""
        return self(["Time", "HCHO (ppm)", name], *zip(STAMPS, FORMALDEHYDE, cells, strict=True))


# --- times ------------------------------------------------------------------------------------------------------------

TIMES_OF_DAY: dict[str, Callable[[dt.datetime], str]] = {
    "milliseconds after a colon": lambda m: f"{m:%H:%M:%S}:000",
    "letters between": lambda m: f"{m:%Hh%Mm%Ss}",
    "minutes and seconds of arc": lambda m: f"{m:%H:%M}'00",
    "Uhr behind": lambda m: f"{m:%H:%M} Uhr",
    "four digits": lambda m: f"{m:%H%M}",
    "dashes": lambda m: f"{m:%H-%M-%S}",
    "minutes of the day": lambda m: str(m.hour * 60 + m.minute),
    "words": lambda m: f"about {m.hour} and {m.minute}",
}
AT_MIDNIGHT = truth_of((HCHO, CO2), tuple(m.replace(hour=0, minute=0) for m in MOMENTS))


def times(table: Table) -> Iterator[LogCase]:
    leave_out = {"clock_column": "no", "stamp_column": "Date", "parameter": "nothing", "unit": "nothing", "no_time": ""}
    for name, write in TIMES_OF_DAY.items():
        lines = zip((f"{m:%Y-%m-%d}" for m in MOMENTS), map(write, MOMENTS), FORMALDEHYDE, CARBON_DIOXIDE, strict=True)
        content = table(["Date", "Time", *HEAD[1:]], *lines)
        yield LogCase(f"time of day: {name}", content, BOTH, by_code(leave_out), AT_MIDNIGHT)


ZONES = {"UTC": 0, "GMT+01:00": 1, "CET": 1, "CEST": 2, "UTC+1": 1, "+02:00": 2, "EST": -5, "UTC-03:00": -3}


def zones(table: Table) -> Iterator[LogCase]:
    for zone, hours in ZONES.items():
        truth = truth_of((HCHO, CO2), shift=dt.timedelta(hours=-hours))
        lines = list(zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))
        for name in (f"Time ({zone})", f"Timestamp {zone}"):
            yield LogCase(f"zone in the heading: {name}", table([name, *HEAD[1:]], *lines), truth, in_utc=True)
        column = table.with_column("Time zone", [zone] * 10)
        yield LogCase(f"zone in a column: {zone}", column, truth, in_utc=True)
        said = by_code({"zone_column": "yes"})
        yield LogCase(
            f"zone in a column: {zone}, maybe", table.with_column("Zone", [zone] * 10), truth, said, in_utc=True
        )
        of_room = table.instead("Wing", [zone] * 10)
        yield LogCase(f"zone in a column: {zone}, of another name", of_room, ONLY_HCHO)
        ends = [(f"{stamp} {zone}", *rest) for stamp, *rest in lines]
        yield LogCase(f"zone in each cell: {zone}", table(HEAD, *ends), truth, in_utc=True)
        above = table(["Time zone", zone], [], HEAD, *lines)
        yield LogCase(f"zone above the data: {zone}", above, truth, in_utc=True)
        offset = table(["UTC offset", f"{hours:+d}"], [], HEAD, *lines)
        yield LogCase(f"zone above the data: {zone}, an offset", offset, truth, in_utc=True)
        two = table(["Time zone", zone], ["Time zone", "UTC+9"], [], HEAD, *lines)
        yield LogCase(f"zone above the data: {zone}, and another", two, BOTH)


AS_IT_IS = by_code({"twelve_hours": "the stamps", "day_or_month": "the day", "swapped_dates": "the stamps"})


def halves(table: Table) -> Iterator[LogCase]:
    hours = [START + n * dt.timedelta(hours=1) for n in range(10)]
    lines = [(f"{m:%Y-%m-%d %I:%M:%S}", text) for m, text in zip(hours, FORMALDEHYDE, strict=True)]
    yield LogCase("twelve hours without AM and PM", table(HEAD[:2], *lines), truth_of((HCHO,), tuple(hours)), AS_IT_IS)
    days = [dt.datetime(2026, 9, day, 8) for day in range(10, 20)]  # noqa: DTZ001
    swapped = [f"{d:%m/%d/%Y %H:%M}" if d.day <= 12 else f"{d:%d/%m/%Y %H:%M}" for d in days]
    content = table(HEAD[:2], *zip(swapped, FORMALDEHYDE, strict=True))
    yield LogCase(
        "dates half swapped",
        content,
        truth_of((HCHO,), tuple(days)),
        by_code({"day_or_month": "the day", "swapped_dates": "the stamps"}),
    )


# --- whose, and whether it is any good --------------------------------------------------------------------------------

SOURCES = ("Serial", "Device", "Node", "Station", "Location", "Room", "Probe", "Logger ID", "Messstelle", "Appareil")


def sources(table: Table) -> Iterator[LogCase]:
    pairs = [MOMENTS[n // 2] for n in range(10)]
    first = truth_of(((*HCHO[:2], HCHO[2][::2]), (*CO2[:2], CO2[2][::2])), tuple(pairs[::2]))
    for name in SOURCES:
        for texts in (("A-1", "B-2"), ("101", "102")):
            lines = [(f"{m:{PLAIN}}", texts[n % 2], f, c) for n, (m, f, c) in enumerate(zip(pairs, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))]  # fmt: skip # noqa: E501
            content = table([HEAD[0], name, *HEAD[1:]], *lines)
            yield LogCase(f"two sources: {name} {texts[0]}", content, NOTHING, by_code({"sources": "only the lines of “" + texts[0]}), first)  # fmt: skip # noqa: E501
    rooms = [(f"{START + n * MINUTE:{PLAIN}}", f"room {n % 50}", f"0.0{n % 9 + 1}") for n in range(200)]
    whole = frozenset(TrueReading(ms_of(START + n * MINUTE), *HCHO[:2], float(f"0.0{n % 9 + 1}")) for n in range(200))
    content = table(["Time", "Room", "HCHO (ppm)"], *rooms)
    yield LogCase("fifty sources", content, NOTHING, by_code({"sources": "all lines"}), whole)
    late = [(f"{START + n * MINUTE:{PLAIN}}", "A1" if n < 500 else "B2", f"0.0{n % 9 + 1}") for n in range(700)]
    truth = frozenset(TrueReading(ms_of(START + n * MINUTE), *HCHO[:2], float(f"0.0{n % 9 + 1}")) for n in range(500))
    content = table(["Time", "Serial", "HCHO (ppm)"], *late)
    yield LogCase("another source far down", content, NOTHING, by_code({"sources": "only the lines of “A1"}), truth)


STATES = {
    "Status": ("OK", "FAULT"), "State": ("normal", "error"), "HCHO status": ("valid", "invalid"),
    "Error": ("0", "1"), "Valid": ("1", "0"), "Quality": ("good", "bad"), "Flag": ("A", "Q"),
}  # fmt: skip


def states(table: Table) -> Iterator[LogCase]:
    good = frozenset(t for t in BOTH if t.ms not in (ms_of(MOMENTS[3]), ms_of(MOMENTS[4])))
    of_hcho = frozenset(t for t in BOTH if t in good or t.parameter != "formaldehyde")
    for name, (fine, wrong) in STATES.items():
        cells = [wrong if n in (3, 4) else fine for n in range(10)]
        truth = of_hcho if "HCHO" in name else good
        yield LogCase(f"status: {name} {wrong}", table.with_column(name, cells), truth, by_code({"status": f"only those with “{fine}"}))  # fmt: skip # noqa: E501
    for wrong in ("FAULT", "error"):
        yield LogCase(f"status: {wrong} throughout", table.with_column("Status", [wrong] * 10), NOTHING, by_code({"status": "all but"}))  # fmt: skip # noqa: E501
    signs = ["<" if n % 2 else "" for n in range(10)]
    below = int(Flag.BELOW_DETECTION)
    censored = frozenset(TrueReading(ms_of(m), *HCHO[:2], float(text), below if sign else 0) for m, text, sign in zip(MOMENTS, FORMALDEHYDE, signs, strict=True))  # fmt: skip # noqa: E501
    for name in ("Qualifier", "Q", ""):
        content = table(["Time", name, "HCHO (ppm)"], *zip(STAMPS, signs, FORMALDEHYDE, strict=True))
        yield LogCase(f"sign in a column: “{name}”", content, censored, by_code({}))


# --- what it is, and how much -----------------------------------------------------------------------------------------

#: Named like what we keep, and something else.
LOOK_ALIKES = (
    "Abs. humidity (g/m³)", "Humidity (g/kg)", "Humidity ratio", "Mixing ratio (g/kg)", "RH (hPa)", "Dew point (°C)",
    "Taupunkt °C", "Td (°C)", "Wet bulb (°C)", "Surface temp (°C)", "Wall temperature (°C)", "Oberflächentemperatur °C",
    "Globe temperature (°C)", "Equivalent CO2 (ppm)", "eCO2 (ppm)", "CO2 baseline (ppm)", "CO2 (mV)", "HCHO (mV)",
    "CO2 counts", "CO2 flux (ppm/h)", "Battery (V)", "Battery voltage", "HCHO alarm (ppm)", "HCHO limit (ppm)",
    "HCHO 8h TWA (ppm)", "HCHO STEL (ppm)", "Pressure (hPa)", "TVOC index", "Temp. setpoint (°C)",
)  # fmt: skip
#: Named like one thing we keep, and another one of them.
OTHERS = {"PM1 (µg/m³)": ("pm1", "µg/m³"), "CO2 (mg/m³)": ("co2", "mg/m³"), "Temp (°F)": ("temperature", "°F")}


def look_alikes(table: Table) -> Iterator[LogCase]:
    cells = [f"{700 + n}.5" if n % 2 else f"{70 + n}.5" for n in range(10)]
    for name in LOOK_ALIKES:
        yield LogCase(f"looks like another: {name}", table.instead(name, cells), ONLY_HCHO, by_code({"parameter": "nothing", "doubtful": "nothing", "unit": "nothing"}))  # fmt: skip # noqa: E501
    for name, (parameter, unit) in OTHERS.items():
        values = tuple(f"{n + 70}.5" if unit == "°F" else f"{700 + n}.5" for n in range(10))
        truth = ONLY_HCHO | truth_of(((parameter, unit, values),))
        yield LogCase(f"another one of ours: {name}", table.instead(name, values), truth)


def amounts(table: Table) -> Iterator[LogCase]:
    grouped = ["987", "1.012", "1.105", "640", "980", "1.230", "655", "701", "1.001", "999"]
    truth = truth_of((("co2", "ppm", tuple(text.replace(".", "") for text in grouped)),))
    content = table(["Time", "CO2 (ppm)"], *zip(STAMPS, grouped, strict=True))
    yield LogCase("points between thousands", content, truth, by_code({"decimal": "thousands"}))
    each = [f"1.0{n}2" for n in range(10)]
    truth = truth_of((("co2", "ppm", tuple(text.replace(".", "") for text in each)),))
    content = table(["Time", "CO2 (ppm)"], *zip(STAMPS, each, strict=True))
    yield LogCase("points between all thousands", content, truth, by_code({"doubtful": "no, the point parts"}))
    dust = ("12.341", "0.980", *[f"1.0{n}2" for n in range(8)])
    mixed = zip(STAMPS, [text.replace(".", ",") for text in TEMPERATURE], dust, strict=True)
    truth = truth_of((COLUMNS[2], ("pm25", "µg/m³", dust)))
    content = table(["Time", "Temp (°C)", "PM2.5 (µg/m³)"], *mixed)
    yield LogCase("both decimal marks", content, truth, by_code({"mixed_decimals": "the comma"}))
    dotted = [f"{n % 7}1.{n % 10}" if n < 450 else "0,031" for n in range(500)]
    stamps = [START + n * MINUTE for n in range(500)]
    truth = frozenset(TrueReading(ms_of(m), *COLUMNS[2][:2], float(t.replace(",", "."))) for m, t in zip(stamps, dotted, strict=True))  # fmt: skip # noqa: E501
    content = table(["Time", "Temp (°C)"], *([f"{m:{PLAIN}}", t] for m, t in zip(stamps, dotted, strict=True)))
    yield LogCase("another decimal mark far down", content, truth)
    fraction = [f"0.4{n}" for n in range(10)]
    humidity = truth_of((HCHO, ("humidity", "%RH", tuple(f"4{n}" for n in range(10)))))
    for name in ("Humidity (%)", "RH", "Relative humidity (%RH)"):
        yield LogCase(f"a fraction: {name}", table.instead(name, fraction), humidity, by_code({"doubtful": "no, it is a fraction of 1: 0.4 is 40 %RH"}))  # fmt: skip # noqa: E501
    for name, kept in {"HCHO ppb (x1000)": "nothing", "HCHO (ppm) [10^-3]": "ppb", "HCHO [mg/m³] (ppb)": "ppb"}.items():
        numbers = tuple(str(31000 + n) if kept == "nothing" else str(31 + n) for n in range(10))
        content = table(["Time", name, "CO2 (ppm)"], *zip(STAMPS, numbers, CARBON_DIOXIDE, strict=True))
        truth = truth_of((CO2,) if kept == "nothing" else (("formaldehyde", "ppb", numbers), CO2))
        yield LogCase(f"a factor or two units: {name}", content, truth, by_code({"unit": kept}))
    ppb = [str(30 + n) for n in range(10)]
    truth = truth_of((("formaldehyde", "ppb", tuple(ppb)),))
    content = table(["Time", "HCHO (ppm)"], *zip(STAMPS, ppb, strict=True))
    yield LogCase("35 ppm of formaldehyde", content, truth, by_code({"doubtful": "no, it is in ppb"}))


# --- what changes on the way down -------------------------------------------------------------------------------------


def changes(table: Table) -> Iterator[LogCase]:
    lines = list(zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))
    turned = [(stamp, c, f) for stamp, f, c in lines]
    in_ppb = [(stamp, f"{1000 * float(f):.0f}", c) for stamp, f, c in lines]
    other = list(zip(STAMPS, TEMPERATURE, HUMIDITY, strict=True))
    yield LogCase("other order below a second header", table(HEAD, *lines[:5], ["Time", "CO2 (ppm)", "HCHO (ppm)"], *turned[5:]), BOTH, by_code({"doubtful": "yes"}))  # fmt: skip # noqa: E501
    yield LogCase("other unit below a second header", table(HEAD, *lines[:5], ["Time", "HCHO (ppb)", "CO2 (ppm)"], *in_ppb[5:]), BOTH)  # fmt: skip # noqa: E501
    yield LogCase("the header again", table(HEAD, *lines[:5], HEAD, *lines[5:]), BOTH)
    yield LogCase("a second table", table(HEAD, *lines, [], ["Time", "Temp (°C)", "RH (%)"], *other), truth_of())
    events = [(stamp, "door", "3.1") for stamp in STAMPS]
    yield LogCase("a table of events below", table(HEAD, *lines, [], ["Time", "Event", "Battery"], *events), BOTH)
    yield LogCase("a column more from the middle on", table(HEAD[:2], *[line[:2] for line in lines[:5]], HEAD, *lines[5:]), ONLY_HCHO | truth_of(((*CO2[:2], CO2[2][5:]),), MOMENTS[5:]))  # fmt: skip # noqa: E501
    commas = [(stamp, f.replace(".", ","), c) for stamp, f, c in lines]
    yield LogCase(
        "the decimal mark changes", table(HEAD, *lines[:6], *commas[6:]), BOTH, by_code({"mixed_decimals": "the point"})
    )
    yield LogCase("three columns of one name", table(["Time", *["HCHO (ppm)"] * 3], *[(s, f, f, f) for s, f, _ in lines]), ONLY_HCHO, by_code({"same_parameter": "HCHO"}))  # fmt: skip # noqa: E501
    ones = table(HEAD, *lines)
    yield LogCase("a lone carriage return", ones.replace(b"\n", b"\r", 4), BOTH)
    yield LogCase("a lone carriage return further down", ones[:-60] + ones[-60:].replace(b"\n", b"\r", 1), BOTH)
    yield LogCase("carriage returns alone", ones.replace(b"\n", b"\r"), BOTH)


def units_change(table: Table) -> Iterator[LogCase]:
    """Below another unit nothing is read."""
    stamps = [f"{START + n * MINUTE:{PLAIN}}" for n in range(50)]
    in_ppm = [(stamp, "0.031", "612") for stamp in stamps[:20]]
    in_ppb = [(stamp, "30", "612") for stamp in stamps[20:]]
    truth = frozenset(
        TrueReading(ms_of(START + n * MINUTE), *column[:2], value)
        for n in range(50)
        for column, value in ((HCHO if n < 20 else ("formaldehyde", "ppb"), 0.031 if n < 20 else 30.0), (CO2, 612.0))
    )
    two = (["Time", "HCHO", "CO2"], ["", "ppm", "ppm"]), (["Time", "HCHO", "CO2"], ["", "ppb", "ppm"])
    yield LogCase("another line of units below", table(*two[0], *in_ppm, *two[1], *in_ppb), truth)
    yield LogCase("only the line of units again", table(*two[0], *in_ppm, two[1][1], *in_ppb), truth)
    yield LogCase("names without their units below", table(HEAD, *in_ppm, two[0][0], *in_ppb), truth)
    again = [line for line in in_ppm if line[0] not in stamps[:10]]
    same = truth_of(((*HCHO[:2], ("0.031",) * 20), (*CO2[:2], ("612",) * 20)), tuple(START + n * MINUTE for n in range(20)))  # fmt: skip # noqa: E501
    yield LogCase("the same lines of the header again", table(*two[0], *in_ppm[:10], *two[0], *again), same)
    told = [(f"{START + n * MINUTE:{PLAIN}}", "30 ppb" if n < 440 else "0.03") for n in range(460)]
    known = frozenset(TrueReading(ms_of(START + n * MINUTE), "formaldehyde", "ppb", 30) for n in range(460))
    yield LogCase("units in the cells and then none", table(["Time", "HCHO"], *told), known)
    said = truth_of((("formaldehyde", "ppb", ("30",) * 10 + ("0.03",) * 20),), tuple(START + n * MINUTE for n in range(430, 460)))  # fmt: skip # noqa: E501
    some = table(["Time", "HCHO"], *told[430:])
    yield LogCase("units in some of the cells", some, known, by_code({"unit": "ppb"}), said)


NOT_UNDERSTOOD: dict[str, Callable[[int], str]] = {
    "a range": lambda n: f"2{n % 7}.3..25.2", "the minus behind": lambda n: f"{n % 5}.3-",
    "powers of ten": lambda n: f"{n % 5}.1×10-2", "base sixteen": lambda n: f"0x{n % 50 + 20:X}",
    "words for an hour": lambda n: "warming up" if n < 440 else "21.3",
}  # fmt: skip
KINDS: dict[str, tuple[str, str, str]] = {
    "Kind": ("avg", "max", "avg"), "Type": ("sample", "TWA", "sample"), "Mode": ("measure", "zero", "measure"),
    "Bemerkung": ("", "Tür offen", "all"),
}  # fmt: skip


def passed_over(table: Table) -> Iterator[LogCase]:
    """What is in a column is named, asked about or read, never left out without a word."""
    moments = [START + n * MINUTE for n in range(460)]
    hcho = frozenset(TrueReading(ms_of(m), *HCHO[:2], 0.031) for m in moments)
    for name, cell in NOT_UNDERSTOOD.items():
        count = 460 if "words" in name else 100
        lines = [(f"{m:{PLAIN}}", "0.031", cell(n)) for n, m in enumerate(moments[:count])]
        values = [(m, 21.3) for n, m in enumerate(moments[:count]) if count == 100 or n >= 440]
        truth = frozenset(t for t in hcho if t.ms < ms_of(START + count * MINUTE))
        truth |= {TrueReading(ms_of(m), *COLUMNS[2][:2], value) for m, value in values}
        yield LogCase(f"not understood: {name}", table(["Time", "HCHO (ppm)", "Temp (°C)"], *lines), truth)
    dashes = [(stamp, f"–{text}") for stamp, text in zip(STAMPS, TEMPERATURE, strict=True)]
    cold = truth_of(((*COLUMNS[2][:2], tuple(f"-{text}" for text in TEMPERATURE)),))
    yield LogCase("a dash for a minus", table(["Time", "Temp (°C)"], *dashes), cold)
    late = [(f"{m:{PLAIN}}", "<" if n >= 440 else "", "0.031") for n, m in enumerate(moments)]
    below = frozenset(TrueReading(t.ms, t.parameter, t.unit, t.value, int(Flag.BELOW_DETECTION) if t.ms >= ms_of(moments[440]) else 0) for t in hcho)  # fmt: skip # noqa: E501
    yield LogCase("signs that come late", table(["Time", "Q", "HCHO (ppm)"], *late), below)
    for name, (fine, other, only) in KINDS.items():
        content = table.with_column(name, [other if n % 3 == 2 else fine for n in range(10)])
        kept = frozenset(t for t in BOTH if only == "all" or (t.ms - ms_of(START)) // 60_000 % 3 != 2)
        words = "all lines" if only == "all" else f"only those with “{only}"
        yield LogCase(f"kinds of lines: {name}", content, NOTHING, by_code({"status": words}), kept)
    invalid = frozenset(t for t in BOTH if t.ms != ms_of(MOMENTS[3]))
    content = table.with_column("Remark", ["invalid" if n == 3 else "" for n in range(10)])
    yield LogCase("kinds of lines: a remark", content, invalid)
    free = table.with_column("Remark", [f"seen by the door, {n} people" for n in range(10)])
    yield LogCase("kinds of lines: free text", free, BOTH)


def filled_later(table: Table) -> Iterator[LogCase]:
    stamps = [START + n * MINUTE for n in range(600)]
    hcho = [TrueReading(ms_of(stamp), *HCHO[:2], 0.03) for stamp in stamps]
    co2 = [TrueReading(ms_of(stamp), *CO2[:2], 600.0) for stamp in stamps[450:]]
    lines = [(f"{stamp:{PLAIN}}", "0.03", "" if n < 450 else "600") for n, stamp in enumerate(stamps)]
    yield LogCase("a column that is filled later", table(HEAD, *lines), frozenset([*hcho, *co2]))
    written = "".join(
        json.dumps({"time": f"{stamp:{PLAIN}}", "hcho_ppm": 0.03} | ({"co2_ppm": 600} if n >= 450 else {})) + "\n"
        for n, stamp in enumerate(stamps)
    )
    yield LogCase("a key that comes later", written.encode(), frozenset([*hcho, *co2]))


def faulty() -> Iterator[LogCase]:
    families = (
        times,
        zones,
        halves,
        sources,
        states,
        look_alikes,
        amounts,
        changes,
        units_change,
        passed_over,
        filled_later,
    )
    for name, delimiter in {"commas": ",", "semicolons": ";", "tabs": "\t"}.items():
        for family in families:
            for case in family(Table(delimiter)):
                yield LogCase(f"{case.name} ({name})", case.content, case.truth, case.answers, case.after, in_utc=case.in_utc)  # fmt: skip # noqa: E501
