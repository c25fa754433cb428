"""Well-formed files: shape × language × encoding. Names are general words of each language, from memory; shapes are
common practice, no source."""

from __future__ import annotations

import datetime as dt
import io
import json
from collections.abc import Callable, Iterator, Sequence

import openpyxl

from tests.methods.logs.biff import old_workbook
from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import COLUMNS, MOMENTS, LogCase, truth_of
from tests.methods.logs.logs import clock
from tests.methods.logs.markup import web_page, xml_workbook
from tests.methods.logs.ods import open_workbook

#: Time, date, time of day, and the names of formaldehyde, carbon dioxide, temperature and relative humidity.
LANGUAGES: dict[str, tuple[str, str, str, tuple[str, str, str, str]]] = {
    "English": ("Time", "Date", "Time", (
        "Formaldehyde", "Carbon dioxide", "Temperature", "Relative humidity",
    )),
    "German": ("Zeitstempel", "Datum", "Uhrzeit", (
        "Formaldehyd", "Kohlendioxid", "Temperatur", "Relative Feuchte",
    )),
    "French": ("Horodatage", "Date", "Heure", (
        "Formaldéhyde", "Dioxyde de carbone", "Température", "Humidité relative",
    )),
    "Spanish": ("Fecha hora", "Fecha", "Hora", (
        "Formaldehído", "Dióxido de carbono", "Temperatura", "Humedad relativa",
    )),
    "Italian": ("Data ora", "Data", "Ora", (
        "Formaldeide", "Anidride carbonica", "Temperatura", "Umidità relativa",
    )),
    "Dutch": ("Datum tijd", "Datum", "Tijd", (
        "Formaldehyde", "Koolstofdioxide", "Temperatuur", "Relatieve vochtigheid",
    )),
    "Portuguese": ("Data hora", "Data", "Hora", (
        "Formaldeído", "Dióxido de carbono", "Temperatura", "Umidade relativa",
    )),
    "Swedish": ("Tid", "Datum", "Tid", (
        "Formaldehyd", "Koldioxid", "Temperatur", "Relativ fuktighet",
    )),
}  # fmt: skip
UNITS = ("ppm", "ppm", "°C", "%RH")
TEXTS = tuple(texts for _, _, texts in COLUMNS)
#: Of a word that nobody taught the reader.
ANSWERS = by_code({"parameter": "Relative humidity"})
ENCODINGS = {"UTF-8": "utf-8", "UTF-8 with a mark": "utf-8-sig", "UTF-16": "utf-16", "Windows-1252": "cp1252"}


def named(names: Sequence[str]) -> list[str]:
    return [f"{name} ({unit})" for name, unit in zip(names, UNITS, strict=True)]


def rows(decimal: str = ".") -> Iterator[tuple[dt.datetime, list[str]]]:
    for moment, *texts in zip(MOMENTS, *TEXTS, strict=True):
        yield moment, [text.replace(".", decimal) for text in texts]


def delimited(delimiter: str, decimal: str, form: str) -> Callable[[str], str]:
    def write(language: str) -> str:
        time, _, _, names = LANGUAGES[language]
        lines = [[time, *named(names)], *([f"{moment:{form}}", *texts] for moment, texts in rows(decimal))]
        return "".join(delimiter.join(line) + "\n" for line in lines)

    return write


def two_columns(language: str) -> str:
    _, date, time, names = LANGUAGES[language]
    lines = [[date, time, *named(names)], *([f"{m:%d.%m.%Y}", f"{m:%H:%M}", *texts] for m, texts in rows(","))]
    return "".join(";".join(line) + "\n" for line in lines)


def units_below(language: str) -> str:
    time, _, _, names = LANGUAGES[language]
    lines = [[time, *names], ["", *UNITS], *([f"{m:%Y-%m-%d %H:%M:%S}", *texts] for m, texts in rows())]
    return "Memory of a meter\n\n" + "".join("\t".join(line) + "\n" for line in lines)


def fixed(language: str) -> str:
    time, _, _, names = LANGUAGES[language]
    lines = [[time, *named(names)], *([f"{m:%Y-%m-%d %H:%M}", *texts] for m, texts in rows())]
    return "".join(f"{line[0]:<18}" + "".join(f"{cell:>28}" for cell in line[1:]) + "\n" for line in lines)


def long(language: str) -> str:
    time, _, _, names = LANGUAGES[language]
    kinds = [
        f"{m:%Y-%m-%d %H:%M:%S},{name},{text},{unit}\n"
        for m, texts in rows()
        for name, text, unit in zip(names, texts, UNITS, strict=True)
    ]
    return f"{time},Parameter,Value,Unit\n" + "".join(kinds)


def records(language: str) -> list[dict[str, object]]:
    names = named(LANGUAGES[language][3])
    return [
        {"time": f"{m:%Y-%m-%dT%H:%M:%S}", **dict(zip(names, map(float, texts), strict=True))} for m, texts in rows()
    ]


def json_lines(language: str) -> str:
    return "".join(json.dumps(record) + "\n" for record in records(language))


def json_long(language: str, parameter: str = "parameter") -> str:
    """One value to a line; a key of two words, as they are written with blanks."""
    kinds = [
        {"time": f"{m:%Y-%m-%dT%H:%M:%S}", parameter: name, "value": float(text), "unit": unit}
        for m, texts in rows()
        for name, text, unit in zip(LANGUAGES[language][3], texts, UNITS, strict=True)
    ]
    return "".join(json.dumps(kind) + "\n" for kind in kinds)


def json_unit(language: str) -> str:
    """Formaldehyde alone, its unit under a key of its own."""
    name = LANGUAGES[language][3][0]
    lines = [{"time": f"{m:%Y-%m-%dT%H:%M:%S}", name: float(texts[0]), "unit": "ppm"} for m, texts in rows()]
    return "".join(json.dumps(line) + "\n" for line in lines)


def json_documents(language: str) -> Iterator[tuple[str, str]]:
    plain = records(language)
    nested = [{"time": record.pop("time"), "values": record} for record in records(language)]
    yield "a list", json.dumps(plain)
    yield "under a key", json.dumps({"logger": "A", "interval_s": 60, "readings": plain}, indent=2)
    yield "nested", json.dumps({"readings": nested}, ensure_ascii=False, indent=1)
    columns = {name: [record[name] for record in plain] for name in plain[0]}
    yield "by columns", json.dumps(columns)
    yield "by columns, under a key", json.dumps({"logger": "A", "data": columns, "count": len(plain)}, indent=1)
    rows_of = [list(record.values()) for record in plain]
    yield "rows and their names", json.dumps({"columns": list(columns), "data": rows_of}, ensure_ascii=False)
    index, *names = columns
    split = {"columns": names, "index": columns[index], "data": [row[1:] for row in rows_of]}
    yield "rows, their names and times", json.dumps(split, indent=2)


def sheet(language: str) -> list[list[object]]:
    time, _, _, names = LANGUAGES[language]
    return [[time, *named(names)], *([moment, *map(float, texts)] for moment, texts in rows())]


def workbook(lines: list[list[object]]) -> bytes:
    book, kept = openpyxl.Workbook(), io.BytesIO()
    assert book.active is not None
    for line in lines:
        book.active.append(line)
    book.save(kept)
    return kept.getvalue()


SHAPES: dict[str, Callable[[str], str]] = {
    "commas": delimited(",", ".", "%Y-%m-%d %H:%M:%S"),
    "semicolons and decimal commas": delimited(";", ",", "%d.%m.%Y %H:%M:%S"),
    "tabs, month first": delimited("\t", ".", "%m/%d/%Y %H:%M"),
    "date and time apart": two_columns,
    "units below the names": units_below,
    "fixed columns": fixed,
    "one value to a line": long,
}


BOOKS = {
    "open document": open_workbook, "old binary": old_workbook, "tables of a web page": web_page, "XML": xml_workbook,
}  # fmt: skip


def well_formed() -> Iterator[LogCase]:
    for language in LANGUAGES:
        for shape, write in SHAPES.items():
            for name, encoding in ENCODINGS.items():
                if name in ("UTF-8", "Windows-1252") or shape == "commas" or language in ("German", "French"):
                    yield LogCase(f"{shape}, {language}, {name}", write(language).encode(encoding), truth_of(), ANSWERS)
        yield LogCase(f"JSON lines, {language}", json_lines(language).encode(), truth_of())
        for parameter in ("parameter", "parameter  name"):
            text = json_long(language, parameter)
            yield LogCase(
                f"JSON lines, one value to a line, {parameter}, {language}", text.encode(), truth_of(), ANSWERS
            )
        alone = truth_of(COLUMNS[:1])
        yield LogCase(f"JSON lines, a key for the unit, {language}", json_unit(language).encode(), alone)
        for name, text in json_documents(language):
            yield LogCase(f"JSON document: {name}, {language}", text.encode(), truth_of())
        yield LogCase(f"workbook, {language}", workbook(sheet(language)), truth_of())
        page = ("Log", sheet(language), False)
        yield LogCase(f"open document workbook, {language}", open_workbook(page), truth_of())
        yield LogCase(f"old binary workbook, {language}", old_workbook(page), truth_of())
        yield LogCase(f"table of a web page, {language}", web_page(page), truth_of())
        yield LogCase(f"XML workbook, {language}", xml_workbook(page), truth_of())
        other = ("Other", [sheet(language)[0], [clock(2026, 1, 1), 1, 2, 3, 4]], False)
        rest = [sheet(language)[0], *([m, f"={a}", *map(float, more)] for m, (a, *more) in rows())]
        yield LogCase(f"formulas without results, {language}", workbook(rest), truth_of())
        for name, write_book in BOOKS.items():
            content, case = write_book(other, page), f"two logs in a workbook: {name}, {language}"
            yield LogCase(case, content, truth_of(), by_code({}), sheet="Log")
