"""Any log we can write in any shape reads back to the same stamps, values and flags."""

from __future__ import annotations

import datetime as dt
import gzip
import json
import random
import tempfile
import zipfile
from collections.abc import Callable
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.clock import Basis
from methods.logs import understand
from methods.logs.layouts.layout_answers import answer
from methods.quantities.flags import Flag
from tests.examples import examples
from tests.methods.logs.logs import Shape, clock, ms_of, read_all

BELOW, OVER, ERROR = int(Flag.BELOW_DETECTION), int(Flag.OVER_RANGE), int(Flag.SENSOR_ERROR)

#: A cell of a log and what it means: text with a decimal point, value (None = none), flag.
Cell = tuple[str, float | None, int]
Rows = list[tuple[dt.datetime, list[Cell]]]
CODES: tuple[Cell, ...] = (
    ("OL", None, OVER), ("---", None, ERROR), ("-200", None, ERROR), ("ERR", None, ERROR), ("NaN", None, ERROR),
    ("", None, 0),
)  # fmt: skip


def a_cell(chance: random.Random, *, plain: bool) -> Cell:
    number = f"{chance.choice([chance.random(), chance.uniform(0, 5000)]):.{chance.randint(0, 4)}f}"
    kind = 0 if plain else chance.randint(0, 9)
    if kind == 7:
        return f"<{number}", float(number), BELOW
    if kind == 8:
        return f">{number}", float(number), OVER
    return chance.choice(CODES) if kind == 9 else (number, float(number), 0)


def make_rows(seed: int) -> Rows:
    """4 to 30 rows, a minute apart, on the 20th of a month: day and month cannot be taken for each other."""
    chance = random.Random(seed)
    start = clock(chance.randint(2001, 2035), chance.randint(1, 12), 20, chance.randint(0, 23), chance.randint(0, 59))
    return [
        (start + dt.timedelta(minutes=i), [a_cell(chance, plain=i < 3) for _ in range(3)])
        for i in range(chance.randint(4, 30))
    ]


logs = st.integers(0, 2**32).map(make_rows)


STAMPS = (
    ("iso", lambda m: (f"{m:%Y-%m-%d %H:%M:%S}",), ("Time",)),
    ("iso with T", lambda m: (f"{m:%Y-%m-%dT%H:%M:%S}",), ("timestamp",)),
    ("fractions", lambda m: (f"{m:%Y-%m-%d %H:%M:%S}.250",), ("Time",)),
    ("slashes", lambda m: (f"{m:%Y/%m/%d %H:%M}",), ("Date/Time",)),
    ("day first", lambda m: (f"{m:%d.%m.%Y}", f"{m:%H.%M.%S}"), ("Datum", "Uhrzeit")),
    ("month first", lambda m: (f"{m:%m/%d/%Y %I:%M:%S %p}",), ("Date",)),
    (
        "no zeros in front",
        lambda m: (f"{m.month}/{m.day}/{m.year}", f"{m.hour % 12 or 12}:{m:%M} {m:%p}"),
        ("Date", "Time"),
    ),
    ("half in its own column", lambda m: (f"{m:%m/%d/%Y}", f"{m:%I:%M:%S}", f"{m:%p}"), ("Date", "Time", "AM/PM")),
    ("named month", lambda m: (f"{m:%d %b %Y %H:%M}",), ("Time",)),
    ("two-digit year", lambda m: (f"{m:%d/%m/%y %H:%M}",), ("Time",)),
    ("compact", lambda m: (f"{m:%Y%m%d%H%M%S}",), ("Time",)),
)
DELIMITERS = (
    (",", "."), (";", ","), (";", "."), ("\t", ","), ("\t", "."), ("|", "."),
)  # fmt: skip
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252")


def assert_same(path: Path, rows: Rows, shape_ms: int = 0) -> None:
    known = understand(path, name="log")
    assert known.layout is not None, known.problems
    layout = known.layout
    for question in known.questions:
        if question.code == "day_or_month":  # a two-digit year in front stays possible
            layout = answer(layout, question, "day_first")
    found = read_all(path, layout)
    assert found.problems == [], found.problems
    assert found.stamps == [ms_of(moment) + shape_ms for moment, _ in rows]
    wanted = [[np.nan if value is None else value for _, value, _ in row] for _, row in rows]
    np.testing.assert_array_equal(found.values, np.array(wanted))
    assert found.flags.tolist() == [[flag for _, _, flag in row] for _, row in rows]
    assert [column.unit for column in layout.values] == ["ppm", "ppm", "°C"]
    assert [column.parameter for column in layout.values] == ["formaldehyde", "co2", "temperature"]


@pytest.mark.parametrize(("name", "stamp", "names"), STAMPS, ids=[name for name, *_ in STAMPS])
@given(data=st.data())
@settings(max_examples=examples(8), deadline=None)
def test_delimited(
    name: str, stamp: Callable[[dt.datetime], tuple[str, ...]], names: tuple[str, ...], data: st.DataObject
) -> None:
    rows = data.draw(logs)
    delimiter, decimal = data.draw(st.sampled_from(DELIMITERS))
    shape = Shape(
        delimiter=delimiter,
        decimal=decimal,
        encoding=data.draw(st.sampled_from(ENCODINGS)),
        line_end=data.draw(st.sampled_from(["\n", "\r\n", "\r"])),
        stamp=stamp,
        time_names=names,
        preamble=data.draw(st.sampled_from([(), ("Logger memory", "Serial no: X-123", ""), ("sep=;",)])),
        quoted=data.draw(st.booleans()),
        tail=data.draw(st.sampled_from(["", "", delimiter])),
    )
    with tempfile.TemporaryDirectory() as folder:
        path = shape.write(Path(folder) / "log", [(m, [text for text, _, _ in row]) for m, row in rows])
        assert_same(path, rows, 250 if name == "fractions" else 0)


@given(logs, st.sampled_from(ENCODINGS), st.booleans())
@settings(max_examples=examples(15), deadline=None)
def test_runs_of_blanks(rows: Rows, encoding: str, wide: bool) -> None:
    shape = Shape(
        delimiter="   " if wide else " ",
        encoding=encoding,
        names=("HCHO", "CO2", "Temp"),
        units=("ppm", "ppm", "°C"),
        stamp=lambda m: (f"{m:%Y-%m-%d}", f"{m:%H:%M:%S}"),
        time_names=("Date", "Time"),
    )
    filled: Rows = [(m, [c if c[0] else ("---", None, ERROR) for c in row]) for m, row in rows]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        lines = [shape.line(("Date", "Time", "HCHO", "CO2", "Temp")), shape.line(("-", "-", "ppm", "ppm", "°C"))]
        lines += [shape.line((*shape.stamp(m), *[text for text, _, _ in row])) for m, row in filled]
        path.write_bytes("\n".join([*lines, ""]).encode(encoding))
        assert_same(path, filled)


@given(logs, st.booleans())
@settings(max_examples=examples(15), deadline=None)
def test_fixed_columns(rows: Rows, foreign: bool) -> None:
    """Blank cells keep their place; a note with other than ASCII letters must not move what stands behind it."""
    note = "Größe" if foreign else "note"
    lines = ["Time                  Place    HCHO (ppm)   CO2 (ppm)   Temp (°C)"]
    for moment, row in rows:
        numbers = "".join(f"{text:>12}" for text, _, _ in row)
        lines.append(f"{moment:%Y-%m-%d %H:%M:%S}   {note:<6}  {numbers}")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        known = understand(path, name="log")
        assert known.layout is not None
        assert known.layout.reader in ("fixed", "delimited")
        assert_same(path, rows)


@given(logs, st.sampled_from(["utf-8", "utf-16"]))
@settings(max_examples=examples(15), deadline=None)
def test_json_lines(rows: Rows, encoding: str) -> None:
    def shown(text: str) -> str:
        return text if text.replace(".", "", 1).isdigit() else ("null" if not text else json.dumps(text))

    lines = []
    for moment, row in rows:
        hcho, co2, temp = (shown(text) for text, _, _ in row)
        air = f'{{"hcho_ppm": {hcho}, "co2_ppm": {co2}}}'
        lines.append(f'{{"time": "{moment:%Y-%m-%dT%H:%M:%S}", "air": {air}, "temp_c": {temp}}}')
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        path.write_bytes("\n".join(lines).encode(encoding))
        assert_same(path, rows)


@given(logs)
@settings(max_examples=examples(8), deadline=None)
def test_workbook(rows: Rows) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Serial number", "X-123"])
    sheet.append([])
    sheet.append(["Time", "HCHO (ppm)", "CO2 (ppm)", "Temp (°C)"])
    for moment, row in rows:
        sheet.append(
            [moment, *[value if value is not None and not flag else text or None for text, value, flag in row]]
        )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        book.save(path)
        known = understand(path, name="log")
        assert known.serials == ("X-123",)
        assert_same(path, rows)


@given(logs, st.sampled_from(["gzip", "zip"]))
@settings(max_examples=examples(10), deadline=None)
def test_packed(rows: Rows, container: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Shape().write(Path(folder) / "log", [(m, [text for text, _, _ in row]) for m, row in rows])
        packed = Path(folder) / "packed"
        if container == "gzip":
            packed.write_bytes(gzip.compress(path.read_bytes()))
        else:
            with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
                archive.writestr("a/log.csv", path.read_bytes())
        known = understand(packed, name="log")
        assert known.layout is not None
        assert known.layout.container == container
        assert_same(packed, rows)


@given(logs)
@settings(max_examples=examples(15), deadline=None)
def test_long(rows: Rows) -> None:
    """One line for each parameter: its row has one value, the others are empty."""
    kinds = (("Formaldehyde", "ppm"), ("CO2", "ppm"), ("Temp", "°C"))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        lines = ["timestamp;parameter;value;unit"]
        for moment, row in rows:
            lines += [f"{moment:%Y-%m-%d %H:%M:%S};{k[0]};{c[0]};{k[1]}" for k, c in zip(kinds, row, strict=True)]
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")
        layout = understand(path, name="log").layout
        assert layout is not None
        assert [(c.parameter, c.unit) for c in layout.values] == [
            ("formaldehyde", "ppm"),
            ("co2", "ppm"),
            ("temperature", "°C"),
        ]
        found = read_all(path, layout)
        assert found.problems == []
        for k in range(3):
            assert found.stamps[k::3] == [ms_of(moment) for moment, _ in rows]
            wanted = [np.nan if row[k][1] is None else row[k][1] for _, row in rows]
            np.testing.assert_array_equal(found.values[k::3, k], wanted)
            assert found.flags[k::3, k].tolist() == [row[k][2] for _, row in rows]
            assert np.isnan(found.values[k::3, [i for i in range(3) if i != k]]).all()


@given(logs, st.integers(1, 12), st.sampled_from(["utf-8", "utf-16", "cp1252"]))
@settings(max_examples=examples(25), deadline=None)
def test_any_chunk_size_gives_the_same(rows: Rows, chunk_rows: int, encoding: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        texts = [
            (m, [text if i % 5 else "odd" for i, (text, _, _) in enumerate(row, n)]) for n, (m, row) in enumerate(rows)
        ]
        path = Shape(encoding=encoding).write(Path(folder) / "log", texts)
        layout = understand(path, name="log").layout
        assert layout is not None
        small, large = read_all(path, layout, chunk_rows), read_all(path, layout)
        assert all(len(chunk.lines) <= chunk_rows for chunk in small.chunks)
        assert (small.lines, small.stamps) == (large.lines, large.stamps)
        np.testing.assert_array_equal(small.values, large.values)
        np.testing.assert_array_equal(small.flags, large.flags)
        assert small.problems == large.problems
        progress = [chunk.bytes_read for chunk in small.chunks]
        assert progress == sorted(progress)
        assert progress[-1] == path.stat().st_size


#: Where clocks change in autumn and spring, in UTC; the first two are Z-13's.
CHANGES = (
    ("Europe/Berlin", clock(2024, 3, 31, 1)), ("Europe/Berlin", clock(2024, 10, 27, 1)),
    ("America/New_York", clock(2024, 11, 3, 6)), ("Australia/Lord_Howe", clock(2024, 4, 6, 15)),
    ("Pacific/Chatham", clock(2024, 9, 28, 14)), ("Asia/Kathmandu", clock(2024, 5, 20, 12)),
)  # fmt: skip


@given(logs, st.sampled_from(CHANGES), st.integers(2, 20), st.sampled_from(["offset", "local", "epoch_s", "epoch_ms"]))
@settings(max_examples=examples(30), deadline=None)
def test_any_zone(rows: Rows, change: tuple[str, dt.datetime], before: int, form: str) -> None:
    """A log over a clock change reads back to the same moments of UTC: where stamps carry their offset or count from
    1970 by themselves, where they are local by the zone they were declared in."""
    zone, at = change
    rows = (rows * 7)[: max(before + 2, 25)]  # past the change: a log that ends in a repeated hour cannot be told
    moments = [at + dt.timedelta(minutes=i - before) for i in range(len(rows))]
    local = [moment.replace(tzinfo=dt.UTC).astimezone(ZoneInfo(zone)) for moment in moments]
    written = {
        "offset": [f"{m:%Y-%m-%dT%H:%M:%S}{f'{m:%z}'[:3]}:{f'{m:%z}'[3:]}" for m in local],
        "local": [f"{m:%Y-%m-%d %H:%M:%S}" for m in local],
        "epoch_s": [str(ms_of(m) // 1000) for m in moments],
        "epoch_ms": [str(ms_of(m)) for m in moments],
    }[form]
    stamps = iter(written)
    shape = Shape(delimiter=";", stamp=lambda _: (next(stamps),))
    with tempfile.TemporaryDirectory() as folder:
        path = shape.write(Path(folder) / "log", [(m, [text for text, _, _ in row]) for m, row in rows])
        layout = understand(path, name="log").layout
        assert layout is not None
        found = read_all(path, layout)
    assert found.problems == []
    assert layout.basis == {"offset": "utc", "local": "local"}.get(form, "epoch")
    basis = Basis.in_zone(zone) if form == "local" else Basis.utc()
    utc, doubtful = basis.to_utc(found.stamps)
    assert utc.tolist() == [ms_of(moment) for moment in moments]
    assert not doubtful.any()


@given(st.lists(st.integers(0, 10**8), min_size=4, max_size=20), st.sampled_from([",.", ".,", " ,", " .", "'."]))
@settings(max_examples=examples(20), deadline=None)
def test_thousands(found: list[int], marks: str) -> None:
    """Groups of three, whatever stands between them; the first two values tell which mark is which."""
    thousands, decimal = marks[0], marks[1]
    values = [n / 100 for n in (123456789, 50, *found)]
    texts = [f"{v:,.2f}".replace(",", "t").replace(".", decimal).replace("t", thousands) for v in values]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log"
        lines = [f"2024-02-20 18:{i:02};{text}" for i, text in enumerate(texts)]
        path.write_text("\n".join(["Time;TVOC (ppb)", *lines, ""]), encoding="utf-8")
        known = understand(path, name="log")
        assert known.layout is not None
        assert known.questions == ()
        assert (known.layout.thousands, known.layout.decimal) == (thousands, decimal)
        whole = read_all(path, known.layout)
    assert whole.problems == []
    assert whole.values[:, 0].tolist() == values
