"""Files that are well in order and unusually written: quoted lines, reserved space, tall headers, digits of other
scripts. All of them were thought of or met as common practice; none is a known product's export."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import (
    CARBON_DIOXIDE,
    COLUMNS,
    FORMALDEHYDE,
    HUMIDITY,
    MOMENTS,
    TEMPERATURE,
    LogCase,
    truth_of,
)

HCHO, CO2, TEMP = COLUMNS[:3]
STAMPS = [f"{moment:%Y-%m-%d %H:%M:%S}" for moment in MOMENTS]
HEAD = ("Time", "HCHO (ppm)", "CO2 (ppm)")
ROWS = list(zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))
BOTH = truth_of((HCHO, CO2))
THREE = truth_of((HCHO, CO2, TEMP))
DELIMITERS = {"commas": ",", "semicolons": ";", "tabs": "\t"}


def text(delimiter: str, *rows: Sequence[str]) -> str:
    return "".join(delimiter.join(row) + "\n" for row in rows)


def quoted(cells: Sequence[str], delimiter: str, inner: str = "") -> str:
    return '"' + delimiter.join(f"{inner}{cell}{inner}" for cell in cells) + '"\n'


def quoted_lines() -> Iterator[LogCase]:
    for name, delimiter in DELIMITERS.items():
        whole = [quoted(row, delimiter) for row in (HEAD, *ROWS)]
        yield LogCase(f"quoted lines: {name}", "".join(whole).encode(), BOTH)
        yield LogCase(f"quoted lines: {name}, not the header", ("".join([text(delimiter, HEAD), *whole[1:]])).encode(), BOTH)  # fmt: skip # noqa: E501
        doubled = "".join(quoted(row, delimiter, '""') for row in (HEAD, *ROWS))
        yield LogCase(f"quoted lines: {name}, quotes inside doubled", doubled.encode(), BOTH)
        half = "".join([*whole[:6], *(text(delimiter, row) for row in ROWS[5:])])
        yield LogCase(f"quoted lines: {name}, half of them", half.encode(), BOTH)
    commas = [(stamp, hcho.replace(".", ","), co2) for stamp, hcho, co2 in ROWS]
    yield LogCase("quoted lines: decimal commas", "".join(quoted(r, ";") for r in (HEAD, *commas)).encode(), BOTH)
    within = "".join(quoted([f'""{cell}""' if "," in cell else cell for cell in row], ",") for row in (HEAD, *commas))
    yield LogCase("quoted lines: decimal commas between commas", within.encode(), BOTH)
    named = [("Time", "HCHO_ppm", "CO2_ppm"), *ROWS]
    yield LogCase("quoted lines: blanks", "".join(quoted(row, " ") for row in named).encode(), BOTH)


def zero_bytes() -> Iterator[LogCase]:
    lines = [text(";", row).encode() for row in (HEAD, *ROWS)]
    for count in (8, 512, 300_000, 3 << 20):
        zeros = b"\0" * count
        yield LogCase(f"zero bytes: {count} at the end", b"".join(lines) + zeros, BOTH)
        yield LogCase(f"zero bytes: {count} in a line", b"".join([*lines[:5], zeros + b"\n", *lines[5:]]), BOTH)
        yield LogCase(f"zero bytes: {count} before a line", b"".join([*lines[:5], zeros, *lines[5:]]), BOTH)
        torn = b"".join([*lines[:5], lines[5][:23], zeros, lines[6][21:], *lines[7:]])
        yield LogCase(f"zero bytes: {count} over the end of a line", torn, BOTH)
        late = b"".join([*lines[:5], zeros, lines[5][1:], *lines[6:]])
        yield LogCase(f"zero bytes: {count} over the beginning of a line", late, BOTH)
        open_end = b"".join(lines).rstrip(b"\n") + zeros
        yield LogCase(f"zero bytes: {count} behind the last value", open_end, BOTH)
    wide = "".join(line.decode() for line in lines).encode("utf-16-le") + b"\0" * 4096
    yield LogCase("zero bytes: behind UTF-16 without a mark", wide, BOTH)
    filled = b"".join(line.replace(b";", b"\0\0;").replace(b"\n", b"\0\n") for line in lines)
    yield LogCase("zero bytes: that fill up cells", filled, BOTH)


NAMES, BARE, KINDS = ("Time", "HCHO", "CO2", "Temp"), ("", "ppm", "ppm", "°C"), ("", "Avg", "Max", "Smp")
SERIALS, CHANNELS = ("", "SN101", "SN102", "SN103"), ("", "Ch 1", "Ch 2", "Ch 3")
HEADS: dict[str, Sequence[Sequence[str]]] = {
    "names, units, statistics": (NAMES, BARE, KINDS),
    "names, statistics, units": (NAMES, KINDS, BARE),
    "statistics, names, units": (KINDS, NAMES, BARE),
    "names, units, statistics, serial numbers": (NAMES, BARE, KINDS, SERIALS),
    "names, units, serial numbers": (NAMES, BARE, SERIALS),
    "channels, names, units, statistics": (CHANNELS, NAMES, BARE, KINDS),
    "serial numbers, names, statistics, units": (SERIALS, NAMES, KINDS, BARE),
    "units and statistics with the name of the time": (("", *NAMES[1:]), BARE, ("Time", *KINDS[1:])),
}


def tall_headers() -> Iterator[LogCase]:
    rows = list(zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, TEMPERATURE, strict=True))
    for name, delimiter in DELIMITERS.items():
        for what, head in HEADS.items():
            content = text(delimiter, *head, *rows)
            yield LogCase(f"tall headers: {what}, {name}", content.encode(), THREE)
        above = ("Memory of a meter", *[""] * 3)
        yield LogCase(f"tall headers: below a line of the meter, {name}", text(delimiter, above, NAMES, BARE, KINDS, *rows).encode(), THREE)  # fmt: skip # noqa: E501
        twice = list(zip(STAMPS, FORMALDEHYDE, HUMIDITY, HUMIDITY, CARBON_DIOXIDE, strict=True))
        groups = (("", "HCHO", "HCHO", "HCHO", "CO2"), ("", *["ppm"] * 4), ("Time", "Avg", "Min", "Max", "Avg"))
        yield LogCase(f"tall headers: mean, least and most of one, {name}", text(delimiter, *groups, *twice).encode(), BOTH)  # fmt: skip # noqa: E501
        pair = list(zip(STAMPS, FORMALDEHYDE, FORMALDEHYDE[::-1], strict=True))
        twins = (("Time", "HCHO", "HCHO"), ("", "ppm", "ppm"), ("", "Smp", "Smp"), ("", "SN101", "SN102"))
        second = by_code({"same_parameter": "HCHO Smp SN101"})
        yield LogCase(f"tall headers: two serial numbers, {name}", text(delimiter, *twins, *pair).encode(), truth_of((HCHO,)), second)  # fmt: skip # noqa: E501


#: Zeros of scripts whose digits follow each other: full-width, Arabic-Indic, its Persian variant, Devanagari, Bengali.
ZEROS = {"full-width": 0xFF10, "Arabic": 0x0660, "Persian": 0x06F0, "Devanagari": 0x0966, "Bengali": 0x09E6}


def other_characters() -> Iterator[LogCase]:
    rows = text(";", *zip(STAMPS, FORMALDEHYDE, CARBON_DIOXIDE, strict=True))
    for name, zero in ZEROS.items():
        digits = {ord(str(n)): chr(zero + n) for n in range(10)}
        yield LogCase(f"other digits: {name}", (text(";", HEAD) + rows.translate(digits)).encode(), BOTH)
        mark = {ord("."): "．" if name == "full-width" else "٫", ord(":"): "："}
        written = (text(";", HEAD) + rows.translate(digits | mark)).encode()
        yield LogCase(f"other digits: {name}, with their own marks", written, BOTH)
    grouped = "".join(f"{stamp};{int(co2) * 10:,}\n".replace(",", "٬") for stamp, co2 in zip(STAMPS, CARBON_DIOXIDE, strict=True))  # fmt: skip # noqa: E501
    tens = truth_of(((*CO2[:2], tuple(f"{co2}0" for co2 in CARBON_DIOXIDE)),))
    yield LogCase("other digits: Arabic thousands", ("Time;CO2 (ppm)\n" + grouped).encode(), tens, by_code({"doubtful": "yes"}))  # fmt: skip # noqa: E501
    milligrams = truth_of((("formaldehyde", "mg/m³", FORMALDEHYDE), ("pm25", "µg/m³", HUMIDITY), TEMP))
    for name, units in {"one character": ("㎎/㎥", "㎍/㎥", "℃"), "wide": ("ｍｇ／ｍ³", "μｇ／㎥", "°Ｃ")}.items():
        head = ("Time", *(f"{what}（{unit}）" for what, unit in zip(("HCHO", "PM2.5", "Temp"), units, strict=True)))
        content = text(";", head, *zip(STAMPS, FORMALDEHYDE, HUMIDITY, TEMPERATURE, strict=True))
        yield LogCase(f"other characters: units of {name}", content.encode(), milligrams)
    cells = [(stamp, f"{temp}℃") for stamp, temp in zip(STAMPS, TEMPERATURE, strict=True)]
    yield LogCase("other characters: a unit in each cell", text(";", ("Time", "Temp"), *cells).encode(), truth_of((TEMP,)))  # fmt: skip # noqa: E501


def uncertainties() -> Iterator[LogCase]:
    for form in ("{}±0.002", "{} ± 0.002", "{} +/- 5 %", "{} ± 0.002 ppm"):
        rows = [(stamp, form.format(hcho), co2) for stamp, hcho, co2 in ROWS]
        yield LogCase(f"uncertainties: {form.format('0.031')}", text(";", HEAD, *rows).encode(), BOTH)


def times_as_keys() -> Iterator[LogCase]:
    timed = {stamp: {HEAD[1]: float(hcho), HEAD[2]: int(co2)} for stamp, hcho, co2 in ROWS}
    for indent in (None, 1):
        yield LogCase(f"JSON under its times: indent {indent}", json.dumps(timed, indent=indent).encode(), BOTH)
    twice = json.dumps(timed).replace('"CO2 (ppm)": 612', '"CO2 (ppm)": 612, "CO2 (ppm)": 613')
    yield LogCase("JSON under its times: a name twice", twice.encode(), BOTH)
    lone = {stamp: int(co2) for stamp, _, co2 in ROWS}
    answers = by_code({"parameter": "Carbon dioxide", "unit": "ppm"})
    yield LogCase("JSON under its times: one number each", json.dumps(lone).encode(), truth_of((CO2,)), answers)
    yield LogCase("JSON under its times: under a name", json.dumps({HEAD[2]: lone}).encode(), truth_of((CO2,)))


def unusual() -> Iterator[LogCase]:
    yield from uncertainties()
    yield from times_as_keys()
    yield from quoted_lines()
    yield from zero_bytes()
    yield from tall_headers()
    yield from other_characters()
