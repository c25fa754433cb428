"""Every feature of a log that the reader is promised to know, by name: the same eight readings in each of them.

Shapes are general ones (common practice, no source); none is a known product's export. More of each, and what is wrong
in files: the other tests of this folder.
"""

from __future__ import annotations

import datetime as dt
import gzip
import io
import json
import math
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from methods.logs import LayoutQuestion, understand
from methods.logs.layouts.layout_answers import answer
from methods.quantities.flags import Flag
from tests.methods.logs.logs import clock, ms_of, read_all

MOMENTS = [clock(2024, 2, 13, 18, i) for i in range(8)]
VALUES = [round(0.01 + i / 100, 2) for i in range(8)]
ROWS = list(zip(MOMENTS, VALUES, strict=True))
HEAD = "Time{0}HCHO (ppm){0}Place\n"


def text(head: str, line: Callable[[dt.datetime, float], str], tail: str = "") -> str:
    return head + "".join(line(m, v) + "\n" for m, v in ROWS) + tail


def parted(delimiter: str, decimal: str = ".") -> str:
    number = "{:.2f}".format
    return text(
        HEAD.format(delimiter),
        lambda m, v: delimiter.join((str(m), number(v).replace(".", decimal), "hall")),
    )


def dated(form: str, head: str = "Time;HCHO (ppm)\n", number: str = "{:.2f}") -> str:
    return text(head, lambda m, v: f"{m:{form}};" + number.format(v))


def day_number(moment: dt.datetime, first: dt.datetime) -> float:
    return (moment - first) / dt.timedelta(days=1)


def book(late: bool, serial: bool) -> bytes:
    made, stream = openpyxl.Workbook(), io.BytesIO()
    if late:
        made.epoch = CALENDAR_MAC_1904
    made.active.append(["Time", "HCHO (ppm)", None])
    for moment, value in ROWS:
        first = dt.datetime(1904, 1, 1) if late else dt.datetime(1899, 12, 30)  # noqa: DTZ001
        made.active.append([day_number(moment, first) if serial else moment, value, None])
    made.active.append([None, None])
    made.save(stream)
    return stream.getvalue()


def zipped(content: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("memory/log.txt", content)
    return stream.getvalue()


COMMA = parted(",")
FIXED = text(
    f"{'Time':<19}  {'Text':<8}{'HCHO ppm':>12}\n", lambda m, v: f"{m}  {'' if m.minute == 3 else 'a b':<8}{v:>12.2f}"
)
JSONL = text("", lambda m, v: json.dumps({"time": m.isoformat(), "hcho_ppm": v}))
LONG = text("Time;Parameter;Value;Unit\n", lambda m, v: f"{m};HCHO;{v:.2f};ppm\n{m};Temp;21.5;°C")
AHEAD = dt.timedelta(hours=5, minutes=45)
PLAIN = "%Y-%m-%d %H:%M:%S"
EPOCH_S = text("time,hcho_ppm\n", lambda m, v: f"{ms_of(m) // 1000},{v}")

SHAPES: dict[str, str | bytes] = {
    "comma": COMMA,
    "semicolon": parted(";"),
    "tab": parted("\t"),
    "pipe": parted("|"),
    "runs of spaces": text("Date Time HCHO\n- - ppm\n", lambda m, v: f"{m}   {v:.2f}"),
    "fixed columns": FIXED,
    "XLSX": book(late=False, serial=False),
    "JSON lines": JSONL,
    "gzip": gzip.compress(COMMA.encode()),
    "gzip of JSON lines": gzip.compress(JSONL.encode()),
    "gzip of XLSX": gzip.compress(book(late=False, serial=False)),
    "zip": zipped(COMMA),
    "zip of fixed columns": zipped(FIXED),
    "UTF-8": dated(PLAIN, "Größe, Zeit\n\nTime;HCHO (ppm)\n"),
    "BOM": b"\xef\xbb\xbf" + COMMA.encode(),
    "UTF-16": COMMA.encode("utf-16"),
    "UTF-16, big end first": COMMA.encode("utf-16-be"),
    "Windows-1252": dated(PLAIN, "Größe\n\nTime;HCHO (ppm)\n").encode("cp1252"),
    "decimal comma": parted(";", ","),
    "thousands separators": text("Time;HCHO (ppb);CO2 (ppm)\n", lambda m, v: f"{m};{1000 * v:.1f};1,234.5"),
    "preamble lines": "Memory of a logger\nInterval;60 s\n\n" + dated(PLAIN),
    "one header row": dated(PLAIN),
    "two header rows": dated(PLAIN, ";Formaldehyde\nTime;(ppm)\n"),
    "units in their own row": dated(PLAIN, "Time;HCHO\n;ppm\n"),
    "units in their own column": text("Time;HCHO;Unit\n", lambda m, v: f"{m};{v};ppm"),
    "long": LONG,
    "an unnamed leading row number": text("Time,HCHO (ppm)\n", lambda m, v: f"{m.minute + 1},{m},{v}"),
    "date and time in two columns": dated("%d.%m.%Y;%H:%M:%S", "Date;Time;HCHO (ppm)\n"),
    "day first": dated("%d/%m/%Y %H:%M"),
    "month first": dated("%m/%d/%Y %H:%M"),
    "18.00.00": dated("%d.%m.%Y %H.%M.%S"),
    "6:00 PM": text("Time;HCHO (ppm)\n", lambda m, v: f"2/13/2024 6:{m:%M} PM;{v}"),
    "ISO with offset": text("Time;HCHO (ppm)\n", lambda m, v: f"{m + AHEAD:%Y-%m-%dT%H:%M}:00+05:45;{v}"),
    "epoch seconds": EPOCH_S,
    "epoch milliseconds": text("time,hcho_ppm\n", lambda m, v: f"{ms_of(m)},{v}"),
    "serials of 1900 in a workbook": book(late=False, serial=True),
    "serials of 1904 in a workbook": book(late=True, serial=True),
    "trailing empty columns": text("Time,HCHO (ppm),,\n", lambda m, v: f"{m},{v},,"),
    "trailing empty rows": COMMA + ",,\n\n,,\n",
    "footers": COMMA + "Average,0.045,\nEnd of data\n",
    "repeated headers": COMMA.replace("2024-02-13 18:04", HEAD.format(",") + "2024-02-13 18:04"),
    "unit suffix in cells": text("Time;HCHO\n", lambda m, v: f"{m};{v} ppm"),
}  # fmt: skip


def put(tmp_path: Path, content: str | bytes) -> Path:
    path = tmp_path / "log"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return path


READERS = {"fixed columns": "fixed", "zip of fixed columns": "fixed", "JSON lines": "jsonl", "XLSX": "xlsx"}


@pytest.mark.parametrize("shape", SHAPES)
def test_the_same_readings_in_every_shape(tmp_path: Path, shape: str) -> None:
    path = put(tmp_path, SHAPES[shape])
    found = understand(path, name="log")
    assert found.layout is not None, found.problems
    assert found.layout.reader == READERS.get(shape, found.layout.reader)
    assert [question.code for question in found.questions] == [], "nothing has to be asked"
    whole = read_all(path, found.layout)
    k = next(k for k, column in enumerate(found.layout.values) if column.parameter == "formaldehyde")
    unit = found.layout.values[k].unit
    own = [i for i, value in enumerate(whole.values[:, k]) if not math.isnan(value)]
    assert [whole.stamps[i] for i in own] == [ms_of(moment) for moment in MOMENTS]
    assert unit in ("ppm", "ppb")
    per_ppm = 1000 if unit == "ppb" else 1
    assert [whole.values[i, k] for i in own] == pytest.approx([per_ppm * value for value in VALUES], rel=1e-12)
    assert not whole.flags.any()
    assert whole.problems == []


@pytest.mark.parametrize(
    ("cell", "value", "flag"),
    [
        ("-200", None, Flag.SENSOR_ERROR), ("-999", None, Flag.SENSOR_ERROR), ("---", None, Flag.SENSOR_ERROR),
        ("ERR", None, Flag.SENSOR_ERROR), ("NaN", None, Flag.SENSOR_ERROR), ("OL", None, Flag.OVER_RANGE),
        ("<0.01", 0.01, Flag.BELOW_DETECTION), (">5", 5.0, Flag.OVER_RANGE),
    ],
)  # fmt: skip
@pytest.mark.parametrize("shape", ["comma", "decimal comma", "fixed columns", "JSON lines"])
def test_codes_in_every_kind_of_text(tmp_path: Path, shape: str, cell: str, value: float | None, flag: Flag) -> None:
    written = cell.replace(".", ",") if shape == "decimal comma" else cell
    number = "0,04" if shape == "decimal comma" else "0.04"
    old, new = (number, f'"{written}"') if shape == "JSON lines" else (f"{number:>8}", f"{written:>8}")
    content = str(SHAPES[shape])
    content = content.replace(old if old in content else number, new if old in content else written)
    path = put(tmp_path, content)
    layout = understand(path, name="log").layout
    assert layout is not None
    whole = read_all(path, layout)
    assert whole.problems == []
    found = whole.values[3, 0]
    assert (None if math.isnan(found) else found, whole.flags[3, 0]) == (value, flag)
    assert [whole.values[i, 0] for i in range(8) if i != 3] == [v for i, v in enumerate(VALUES) if i != 3]


def settled(path: Path, code: str, choice: str) -> list[int]:
    """The stamps, once the only question is answered."""
    found = understand(path, name="log")
    assert found.layout is not None
    (question,) = found.questions
    assert isinstance(question, LayoutQuestion)
    assert question.code == code
    return read_all(path, answer(found.layout, question, choice)).stamps


def test_an_ambiguous_date_is_asked_for(tmp_path: Path) -> None:
    path = put(tmp_path, text("Time;HCHO (ppm)\n", lambda m, v: f"01/02/2026 18:{m:%M};{v}"))
    assert settled(path, "day_or_month", "day_first")[0] == ms_of(clock(2026, 2, 1, 18))
    assert settled(path, "day_or_month", "month_first")[0] == ms_of(clock(2026, 1, 2, 18))


@pytest.mark.parametrize(("epoch", "year"), [("serial_1900", 2024), ("serial_1904", 2028)])
def test_serials_in_text_are_asked_for(tmp_path: Path, epoch: str, year: int) -> None:
    """Z-14: 45382 is 2024-03-31 in the 1900 system, 2028-04-01 in the 1904 system."""
    path = put(tmp_path, text("Date,HCHO ppm\n", lambda m, v: f"{45382 + m.minute / 8:.4f},{v}"))
    day = clock(2024, 3, 31) if year == 2024 else clock(2028, 4, 1)
    assert settled(path, "serial_epoch", epoch)[:2] == [ms_of(day), ms_of(day + dt.timedelta(hours=3))]
