"""Whatever is uploaded, sniffing answers and reading reads or says Unreadable: nothing else comes out."""

from __future__ import annotations

import datetime as dt
import gzip
import io
import json
import tempfile
import zipfile
from pathlib import Path

import numpy as np
import openpyxl
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import Layout, Unreadable, read, understand
from methods.logs.layouts.layout_answers import answer, questions_left
from tests.examples import examples
from tests.methods.logs.biff import Sheet
from tests.methods.logs.markup import web_page, xml_workbook
from tests.methods.logs.ods import open_workbook


def workbook() -> bytes:
    book, stream = openpyxl.Workbook(), io.BytesIO()
    book.active.append(["Time", "CO2 (ppm)"])
    for i in range(6):
        book.active.append([dt.datetime(2024, 2, 13, 18, i), 400 + i])  # noqa: DTZ001 - a logger's clock has no zone
    book.save(stream)
    return stream.getvalue()


def zipped(name: str, content: bytes) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(name, content)
    return stream.getvalue()


def loosened(book: bytes) -> bytes:
    """The workbook stored without compression or check sums in the way, so that changes reach its XML."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(book)) as old, zipfile.ZipFile(stream, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name))
    return stream.getvalue()


CSV = "Time;HCHO (ppm);CO2\n" + "".join(f"0{i + 1}/02/2024 18:0{i};0,0{i};40{i}\n" for i in range(6))
LONG = "t,parameter,value,unit\n" + "".join(f"2024-02-13 18:0{i},CO2,40{i},ppm\n" for i in range(6))
JSON = "".join(f'{{"time": "2024-02-13T18:0{i}:00Z", "co2_ppm": 40{i}, "a": {{"b": [1, null]}}}}\n' for i in range(6))
FIXED = "Time                CO2 ppm  HCHO ppm\n" + "".join(
    f"2024-02-13 18:0{i}    {40 * i:>6}     {i or '':>3}\n" for i in range(6)
)
SHEET: Sheet = ("A", [["Time", "CO2 (ppm)"], *([f"2024-02-13 18:0{i}", 400 + i] for i in range(6))], False)
SHEET_TOO: Sheet = ("B", SHEET[1], False)
SEEDS = (
    CSV.encode(), CSV.encode("utf-16"), CSV.encode("utf-16-be"), LONG.encode(), JSON.encode(), FIXED.encode(),
    gzip.compress(CSV.encode(), mtime=0), zipped("log.csv", CSV.encode()), workbook(), loosened(workbook()),
    open_workbook(SHEET, SHEET_TOO), loosened(open_workbook(SHEET)), web_page(SHEET, SHEET_TOO), xml_workbook(SHEET),
    json.dumps({"rows": [json.loads(line) for line in JSON.splitlines()]}).encode(),
)  # fmt: skip

PIECES = (
    b"\0", b'"', b";", b",", b"\n", b"\r", b"\t", b" ", b"\xff", b"-", b"9" * 30, b"<", b">", b"{", b"}", b"\x1f",
    b"\xef\xbb\xbf", b"1e999", b"NaN", b"24:00", b"31/12/9999", b"%", b"\xc2\xb0C", b"PM", b"+01:00", b"[ppm]",
    b"Average", b"&x;", b"<!ENTITY",
)  # fmt: skip


@st.composite
def damaged(draw: st.DrawFn) -> bytes:
    content = bytearray(draw(st.sampled_from(SEEDS)))
    for _ in range(draw(st.integers(1, 6))):
        at, length = draw(st.integers(0, len(content))), draw(st.sampled_from([0, 0, 1, 1, 5, 40]))
        content[at : at + length] = draw(st.sampled_from(PIECES)) * draw(st.sampled_from([1, 1, 1, 50]))
    return bytes(content)


def go_through(content: bytes) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "upload"
        path.write_bytes(content)
        found = understand(path, name="upload")
        assert found.layout is not None or found.problems
        assert all(problem.message for problem in found.problems)
        if any(question.code == "sheet" for question in found.questions):
            found = understand(path, name="upload", sheet=found.questions[0].choices[-1][0])
        if found.layout is None:
            return
        layout = Layout.from_json(found.layout.to_json())
        for question in found.questions:
            if question.choices:
                layout = answer(layout, question, question.choices[0][0])
        questions_left(layout)
        try:
            chunks = list(read(path, layout, chunk_rows=4))
        except Unreadable:
            return
        for chunk in chunks:
            n, k = len(chunk.lines), len(layout.values)
            assert chunk.stamps.shape == (n,)
            assert chunk.values.shape == chunk.flags.shape == (n, k)
            assert not np.isinf(chunk.values).any()
            assert (chunk.flags & ~7 == 0).all()


@given(damaged())
@settings(max_examples=examples(150), deadline=None)
def test_damaged_logs(content: bytes) -> None:
    go_through(content)


@given(st.binary(max_size=300))
@settings(max_examples=examples(60), deadline=None)
def test_any_bytes(content: bytes) -> None:
    go_through(content)


ANY_CELL = st.sampled_from(
    ["2024-02-13", "18:00", "PM", "1", "0,5", "1.234", "co2", "ppm", "°C", "", "x", "-", "Time", "45000", "<1"]
)


@given(
    st.lists(st.lists(ANY_CELL, min_size=1, max_size=5), min_size=1, max_size=8),
    st.sampled_from([",", ";", "\t", " ", "|", "  "]),
)
@settings(max_examples=examples(150), deadline=None)
def test_any_table(rows: list[list[str]], delimiter: str) -> None:
    go_through("\n".join(delimiter.join(row) for row in rows).encode())
