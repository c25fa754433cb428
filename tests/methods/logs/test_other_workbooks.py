"""Workbooks of the open document and of the old binary format: the same readings, and what is wrong with them."""

from __future__ import annotations

import datetime as dt
import gzip
import io
import os
import struct
import tempfile
from collections.abc import Callable
from pathlib import Path

import pytest
import python_calamine
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.files import ods_book, sheets
from methods.logs.files.book import BookFile
from methods.logs.layouts.layout_answers import answer
from methods.quantities.flags import Flag
from tests.examples import examples
from tests.methods.logs import biff, ods
from tests.methods.logs.biff import Sheet, old_workbook
from tests.methods.logs.corpus.shapes import workbook
from tests.methods.logs.logs import clock, ms_of, read_all
from tests.methods.logs.markup import in_xml, web_page, worksheet, xml_workbook
from tests.methods.logs.ods import RawCell, open_workbook
from tests.methods.logs.test_containers import refused
from tests.methods.logs.test_hostile import go_through

MAKERS: dict[str, Callable[..., bytes]] = {
    "ods": open_workbook,
    "xls": old_workbook,
    "html": web_page,
    "xml": xml_workbook,
}
HEAD: list[object] = ["Time", "CO2 (ppm)", "HCHO (ppm)"]
ROWS: list[list[object]] = [HEAD, *([clock(2024, 2, 13, 23, 50 + i), 400 + i, i / 7] for i in range(10))]
LOG: Sheet = ("Log", ROWS, False)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_each_sheet_of_an_open_document_by_itself(encoding: str) -> None:
    """Of the last one nothing that stands before it is taken for its own; names are those declared above it."""
    sheets_of = [(f"Raum {n} µ", [HEAD, [clock(2024, 2, 13), n, 0.5]], False) for n in range(5)]
    xml = ods.content(sheets_of).replace("UTF-8", "UTF-16" if encoding == "utf-16" else "UTF-8")
    packed = ods.packed(xml.encode(encoding))
    with sheets.open_workbook(BookFile("ods", io.BytesIO(packed), len(packed))) as book:
        for n in (4, 0, 2):
            assert [cells[1] for _, cells in book.rows(f"Raum {n} µ", 3)] == ["CO2 (ppm)", str(n)]


def test_many_sheets_are_looked_at_in_one_pass(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is unpacked is a few times the document, however many sheets there are."""
    unpacked = [0]
    piece = ods_book.OdsBook._piece

    def counted(book: ods_book.OdsBook, at: int, size: int) -> bytes:
        unpacked[0] += size
        return piece(book, at, size)

    monkeypatch.setattr(ods_book.OdsBook, "_piece", counted)
    many = [(f"S{n}", [*ROWS, *[[clock(2024, 2, 14), n, 0.5]] * 300], False) for n in range(20)]
    (tmp_path / "log").write_bytes(open_workbook(*many))
    assert [question.code for question in understand(tmp_path / "log", name="log").questions] == ["sheet"]
    assert unpacked[0] < 6 * len(ods.content(many))


def test_codes_for_no_value_in_a_workbook(tmp_path: Path) -> None:
    rows = [[time, -999 if n == 4 else "<-200" if n == 5 else co2, hcho] for n, (time, co2, hcho) in enumerate(ROWS)]
    (tmp_path / "log").write_bytes(open_workbook(("Log", rows, False)))
    layout = understand(tmp_path / "log", name="log").layout
    assert layout is not None
    found = read_all(tmp_path / "log", layout)
    assert found.values[3:5, 0].tolist() == [pytest.approx(float("nan"), nan_ok=True), -200.0]
    assert found.flags[3:5, 0].tolist() == [Flag.SENSOR_ERROR, Flag.BELOW_DETECTION]


#: Two paragraphs, and a paragraph of two lines.
TWO_LINES = ("<text:p>700</text:p><text:p>800</text:p>", "<text:p>700<text:line-break/>800</text:p>")


@pytest.mark.parametrize("inside", TWO_LINES)
def test_two_numbers_in_a_cell_of_an_open_document_are_not_one(tmp_path: Path, inside: str) -> None:
    cell = RawCell(f'<table:table-cell office:value-type="string">{inside}</table:table-cell>')
    rows = [[time, cell if n == 4 else co2, hcho] for n, (time, co2, hcho) in enumerate(ROWS)]
    (tmp_path / "log").write_bytes(open_workbook(("Log", rows, False)))
    (problem,) = understand(tmp_path / "log", name="log").problems
    assert (problem.line, problem.value, problem.code) == (5, "700 / 800", "text_in_number")


@pytest.fixture(params=MAKERS)
def kind(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def whole(tmp_path: Path, content: bytes) -> tuple[list[int], list[list[float]], list[tuple[int, str, str, str]]]:
    path = tmp_path / "upload"
    path.write_bytes(content)
    found = understand(path, name="upload")
    assert found.layout is not None, found.problems
    assert found.questions == ()
    read = read_all(path, found.layout)
    return read.stamps, read.values.tolist(), read.problems


def test_rows_become_readings(tmp_path: Path, kind: str) -> None:
    stamps, values, problems = whole(tmp_path, MAKERS[kind](LOG))
    assert stamps == [ms_of(row[0]) for row in ROWS[1:] if isinstance(row[0], dt.datetime)]
    assert values == [row[1:] for row in ROWS[1:]]
    assert problems == []


def test_empty_cells_and_rows_are_nothing_and_text_is_named(tmp_path: Path, kind: str) -> None:
    rows = [[], [], *ROWS[:3], [], [ROWS[3][0], None, 0.5], [ROWS[4][0], "low", "<0.5"], *ROWS[5:]]
    _, values, problems = whole(tmp_path, MAKERS[kind](("Log", rows, False)))
    assert values[2][0] != values[2][0]
    assert (values[2][1], values[3][1]) == (0.5, 0.5)
    assert problems == [(8, "CO2 (ppm)", "low", "text_in_number")]


def test_packed_once_more(tmp_path: Path, kind: str) -> None:
    assert whole(tmp_path, gzip.compress(MAKERS[kind](LOG)))[1] == [row[1:] for row in ROWS[1:]]


@pytest.mark.parametrize("kind", ["ods", "xls", "xml"])
@pytest.mark.parametrize(("late", "first"), [(False, clock(2024, 3, 31)), (True, clock(2028, 4, 1))])
def test_day_numbers_count_from_the_workbooks_own_epoch(tmp_path: Path, kind: str, late: bool, first: dt.datetime) -> None:  # fmt: skip # noqa: E501
    """Z-14: serial 45382 is 2024-03-31 in the 1900 system and 2028-04-01 in the 1904 system."""
    sheet: Sheet = ("Log", [["Date", "CO2 (ppm)"], *([45382 + i / 8, 400.5 + i] for i in range(10))], False)
    since = '<table:calculation-settings><table:null-date table:date-value="1904-01-01"/></table:calculation-settings>'
    made = {
        "ods": ods.packed(ods.content([sheet], since * late)),
        "xls": old_workbook(sheet, late=late),
        "xml": in_xml("<ExcelWorkbook><Date1904/></ExcelWorkbook>" * late, worksheet(*sheet[:2])),
    }
    assert whole(tmp_path, made[kind])[0][:2] == [ms_of(first), ms_of(first + dt.timedelta(hours=3))]


@pytest.mark.parametrize("kind", ["xlsx", "ods", "xls"])
@pytest.mark.parametrize(("name", "minutes"), [("Time", 63), ("Elapsed time", 63), ("Elapsed time", 1)])
def test_lengths_of_time_are_time_gone_by(tmp_path: Path, kind: str, name: str, minutes: int) -> None:
    """Cells shown in any number of hours (built-in form 46 of ISO/IEC 29500-1, 18.8.30, "[h]:mm:ss")."""
    lengths = [n * dt.timedelta(minutes=minutes, seconds=7) for n in range(30)]
    rows: list[list[object]] = [[name, "CO2 (ppm)"], *([length, 400] for length in lengths)]
    path = tmp_path / "upload"
    path.write_bytes(workbook(rows) if kind == "xlsx" else MAKERS[kind](("Log", rows, False)))
    found = understand(path, name="upload")
    assert found.layout is not None
    assert [question.code for question in found.questions] == ["start"]
    layout = answer(found.layout, found.questions[0], "2026-03-01T10:00:00")
    stamps = [ms_of(clock(2026, 3, 1, 10) + length) for length in lengths]
    assert read_all(path, layout).stamps == stamps


@pytest.mark.parametrize("late", [False, True])
def test_dates_of_an_old_workbook_in_both_day_counts(tmp_path: Path, late: bool) -> None:
    assert whole(tmp_path, old_workbook(LOG, late=late))[0][0] == ms_of(clock(2024, 2, 13, 23, 50))


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (old_workbook(LOG, locked=True), "encrypted", "without a password"),
        (ods.packed("<x/>", "<manifest><encryption-data/></manifest>"), "encrypted", "without a password"),
        (biff.compound(b"x" * 5000, "EncryptedPackage"), "encrypted", "without a password"),
        (biff.compound(b"x" * 5000, "WordDocument"), "binary", "not a workbook"),
        (biff.compound(b"x" * 5000), "broken_workbook", "damaged"),
        (old_workbook(LOG)[:2048], "broken_workbook", "damaged"),
        (b"\x09\x02\x06\x00\x00\x00\x10\x00" + bytes(100), "binary", "older than 1997"),
        (ods.packed("<x>"), "broken_workbook", "damaged"),
        (ods.packed("<x/>", kind="application/vnd.oasis.opendocument.text"), "binary", "office document"),
        (ods.packed('<!DOCTYPE x [<!ENTITY a "b">]><x>&a;</x>'), "zip_bomb", "entities"),
        (open_workbook(("Log", [["nothing", "here"]], False)), "not_a_log", "does not look like a log"),
        (old_workbook(("Log", [["nothing", "here"]], False)), "not_a_log", "does not look like a log"),
    ],
    ids=range(12),
)  # fmt: skip
def test_what_is_no_readable_workbook_is_refused_with_the_reason(
    tmp_path: Path, content: bytes, code: str, words: str
) -> None:
    found, message = refused(tmp_path, content)
    assert (found, words in message) == (code, True), message


def test_a_few_bytes_that_ask_for_all_the_memory_there_is(tmp_path: Path) -> None:
    """One cell in the first and one in the last corner of each of a hundred sheets."""
    corner = biff.record(0x0203, struct.pack("<HHHd", 65535, 255, 0, 1.0))
    one = biff.workbook_stream([(f"Sheet {n}", [[1.0]], False) for n in range(100)])
    mark = biff.record(0x0200, struct.pack("<IIHHH", 0, 1, 0, 1, 0))
    broad = one.replace(mark, corner)
    assert len(corner) == len(mark) == 18
    assert refused(tmp_path, biff.compound(broad))[0] == "broken_workbook"


def test_repeated_rows_and_columns_and_what_is_beside_the_value(tmp_path: Path) -> None:
    """ISO/IEC 26300-3, 19.675 and 19.677: one element stands for many cells or rows."""
    note = "<office:annotation><text:p>9</text:p></office:annotation>"
    cells = RawCell(f'<table:table-cell table:number-columns-repeated="2" office:value-type="float" office:value="500.5">{note}</table:table-cell>')  # fmt: skip # noqa: E501
    rest = RawCell('<table:table-cell table:number-columns-repeated="16382"/>')
    far = '<table:table-row table:number-rows-repeated="1048000"><table:table-cell/></table:table-row></table:table>'
    sheet: Sheet = ("Log", [["Time", "CO2 (ppm)", "CO (ppm)"], *([row[0], cells, rest] for row in ROWS[1:])], False)
    stamps, values, problems = whole(tmp_path, ods.packed(ods.content([sheet]).replace("</table:table>", far)))
    assert (len(stamps), values, problems) == (10, [[500.5, 500.5]] * 10, [])


def test_a_row_that_repeats_without_end(tmp_path: Path) -> None:
    xml = ods.content([LOG]).replace("<table:table-row>", '<table:table-row table:number-rows-repeated="99999999">', 2)
    assert refused(tmp_path, ods.packed(xml))[0] == "zip_bomb"


def test_calamine_reads_the_same_of_an_open_document() -> None:
    """Every kind of cell, against calamine's own reading of the format."""
    moment, day = clock(2024, 2, 13, 18, 5), dt.time(6, 30)
    rows: list[list[object]] = [
        ["a & b", moment, day, 1.5, 400, None, -1e-7],
        [None, "<ä>  "],
        [],
        ["x", None, None, True],
    ]
    rows[3][3] = RawCell('<table:table-cell office:value-type="boolean" office:boolean-value="true"/>')
    content = open_workbook(("One", rows, False), ("Two", [[1]], True))
    theirs = python_calamine.load_workbook(io.BytesIO(content))
    with sheets.open_workbook(BookFile("ods", io.BytesIO(content), len(content))) as book:
        found = list(sheets.sheet_rows(book, "One"))
        assert list(book.sheets) == theirs.sheet_names
    wanted = [["a & b", "2024-02-13 18:05:00", "06:30:00", "1.5", "400", "", "-1e-07"], ["", "<ä>"], [], ["x", "", "", "True"]]  # fmt: skip # noqa: E501
    seen = theirs.get_sheet_by_index(0).to_python(skip_empty_area=False)
    assert found == wanted
    assert seen[0][:5] == ["a & b", moment, day, 1.5, 400]
    assert (seen[0][6], seen[3][3]) == (-1e-7, True)


PIECES = (b"\0", b"\xff" * 4, b"\x09\x08", b"<", b'"', b"table:", b"\x00\x00\x00\x40", b"9" * 30)


@given(st.sampled_from(("ods", "xls")), st.lists(st.tuples(st.floats(0, 1), st.sampled_from(PIECES)), min_size=1, max_size=5))  # fmt: skip # noqa: E501
@settings(max_examples=examples(25), deadline=None)
def test_damaged_workbooks(kind: str, blows: list[tuple[float, bytes]]) -> None:
    content = bytearray(ods.content([LOG]).encode() if kind == "ods" else old_workbook(LOG))
    for share, piece in blows:
        at = int(share * len(content))
        content[at : at + len(piece)] = piece
    go_through(ods.packed(content.decode(errors="replace")) if kind == "ods" else bytes(content))


def test_a_pass_that_is_given_up_leaves_no_process() -> None:
    with tempfile.TemporaryFile() as stream:
        stream.write(old_workbook(LOG))
        with sheets.open_workbook(BookFile("xls", stream, stream.tell())) as book:
            assert next(sheets.sheet_rows(book, "Log")) == HEAD
            assert next(sheets.sheet_rows(book, "Log")) == HEAD
    children = Path("/proc/self/task") / str(os.getpid()) / "children"
    assert not children.exists() or children.read_text() == ""
