"""Columns that say which lines are any good, under many names and in many words, and columns that only look so.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from methods.quantities.flags import Flag
from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.faults import BOTH, HCHO, HEAD, NOTHING, PLAIN, STAMPS, Table
from tests.methods.logs.corpus.truth import (
    CARBON_DIOXIDE,
    FORMALDEHYDE,
    MINUTE,
    MOMENTS,
    START,
    LogCase,
    TrueReading,
)
from tests.methods.logs.logs import ms_of

#: Under which names, with which texts of a good and a bad line, and what the user of the file says.
QUALIFIED = {
    ("Qualifier", "", "ND"): "only those with nothing", ("Q", "", "U"): "only those with nothing",
    ("Q", "A", "J"): "only those with “A”", ("", "ok", "<LOD"): "only those with “ok”",
    ("Detection", "yes", "no"): "only those with “yes”", ("Störung", "nein", "ja"): "only those with “nein”",
    ("Erreur", "non", "oui"): "only those with “non”", ("Warning", "off", "on"): "only those with “off”",
    ("Warm-up", "0", "1"): "only those with “0”", ("Calibration", "no", "yes"): "only those with “no”",
    ("Overrange", "false", "true"): "only those with “false”", ("Below LOD", "N", "Y"): "only those with “N”",
    ("Invalid", "0", "1"): "only those with “0”", ("gültig", "ja", "nein"): "only those with “ja”",
    ("Xyz", "", "E1"): "only those with nothing", ("Info", "fine", "sensor error"): "only those with “fine”",
    ("Info", "", "Kalibrierung"): "only those with nothing", ("Text", "", "hors gamme"): "only those with nothing",
    ("Phase", "mess", "spül"): "only those with “mess”", ("Sample", "M", "Z"): "only those with “M”",
    ("Valve", "room", "zero"): "only those with “room”",
}  # fmt: skip
#: Columns that say nothing of their line.
HARMLESS = {
    "Result": ("OK",), "Firmware": ("v1.2",), "Operator": ("Ana", "Bo"),
    "Pump": ("on", "off"), "Mode": ("auto",), "Phase": ("U", "V", "W"), "Port": ("E1", "E2"), "Alarm": ("off",),
    "Error": ("none",), "Filter": ("", "new"), "Ort": ("Bad",), "Calibration": ("2026-01-02",),
}  # fmt: skip
BAD_AT = tuple(map(ms_of, MOMENTS[3:5]))


def qualified() -> Iterator[LogCase]:
    table = Table(";")
    good = frozenset(t for t in BOTH if t.ms not in BAD_AT)
    for (name, fine, wrong), said in QUALIFIED.items():
        content = table.with_column(name, [wrong if n in (3, 4) else fine for n in range(10)])
        yield LogCase(f"qualifiers: {name} {wrong}", content, NOTHING, by_code({"status": said}), good)
    content = table.with_column("Xyz", ["FAULT"] * 10)
    yield LogCase("qualifiers: throughout", content, NOTHING, by_code({"status": "all but"}))
    for name, texts in HARMLESS.items():
        yield LogCase(
            f"harmless columns: {name}", table.with_column(name, [texts[n % len(texts)] for n in range(10)]), BOTH
        )
    for one, other in (("room 1", "room 2"), ("A1", "A2"), ("Sonde Nord", "Sonde Süd")):
        content = table.with_column("", [other if n in (3, 4) else one for n in range(10)])
        yield LogCase(
            f"qualifiers: no name, {one}", content, NOTHING, by_code({"sources": f"only the lines of “{one}"}), good
        )
    yield from _one_behind_each_value(table)
    yield from _late(table)
    yield _as_signs(table)


def _one_behind_each_value(table: Table) -> Iterator[LogCase]:
    """Of two columns of qualifiers or signs; where one of them is empty, what is in the other is of one value, too."""
    answers = by_code({"status": "only those with nothing"})
    for names in (("Q", "Q"), ("Q1", "Q2"), ("HCHO Q", "CO2 Q"), ("Qualifier", "Qualifier")):
        head = [*HEAD[:2], names[0], HEAD[2], names[1]]
        for of_hcho, of_co2 in (("U", "U"), ("U", ""), ("", "U")):
            lines = [
                (stamp, hcho, of_hcho if n == 3 else "", co2, of_co2 if n == 4 else "")
                for n, (stamp, hcho, co2) in enumerate(zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))
            ]
            bad = {(BAD_AT[0], "formaldehyde")} if of_hcho else set()
            bad |= {(BAD_AT[1], "co2")} if of_co2 else set()
            truth = frozenset(t for t in BOTH if (t.ms, t.parameter) not in bad)
            name = f"qualifiers: behind each value, {names[0]}, “{of_hcho}” and “{of_co2}”"
            yield LogCase(name, table(head, *lines), NOTHING, answers, truth)
            signs = [[text.replace("U", "<") for text in line] for line in lines]
            below = frozenset(
                TrueReading(t.ms, t.parameter, t.unit, t.value, int(Flag.BELOW_DETECTION)) for t in BOTH - truth
            )
            yield LogCase(f"{name}, as signs", table(head, *signs), truth | below)


def _late(table: Table) -> Iterator[LogCase]:
    moments = [START + n * MINUTE for n in range(700)]
    lines = [(f"{m:{PLAIN}}", "invalid" if n == 650 else "", "0.031") for n, m in enumerate(moments)]
    truth = frozenset(TrueReading(ms_of(m), *HCHO[:2], 0.031) for n, m in enumerate(moments) if n != 650)
    for name in ("Xyz", "Qualifier", ""):
        content = table(["Time", name, "HCHO (ppm)"], *lines)
        yield LogCase(f"qualifiers: late, “{name}”", content, truth, by_code({"status": "only those with nothing"}))


def _as_signs(table: Table) -> LogCase:
    texts = ["ND" if n % 2 else "" for n in range(10)]
    truth = frozenset(
        TrueReading(ms_of(m), *HCHO[:2], float(value), int(Flag.BELOW_DETECTION) if text else 0)
        for m, value, text in zip(MOMENTS, FORMALDEHYDE, texts, strict=True)
    )
    content = table(["Time", "HCHO (ppm)", "Qualifier"], *zip(STAMPS, FORMALDEHYDE, texts, strict=True))
    return LogCase("qualifiers: as signs", content, NOTHING, by_code({"status": "as signs"}), truth)
