"""Packed files and workbooks: read where they are logs, refused where they are bombs, damaged or something else."""

from __future__ import annotations

import datetime as dt
import gzip
import io
import struct
import zipfile
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from methods.logs import Unreadable, read, understand
from methods.logs.files import sheet_xml, sheets, sources
from methods.logs.files.book import BookFile
from tests.methods.logs.logs import clock, ms_of, read_all, write

CSV = "Time,CO2 (ppm)\n" + "".join(f"2024-02-13 {10 + i // 60}:{i % 60:02}:00,{400 + i}\n" for i in range(300))


def zipped(*members: tuple[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members:
            archive.writestr(name, content)
    return stream.getvalue()


def workbook(fill: Callable[[openpyxl.Workbook], None]) -> bytes:
    book, stream = openpyxl.Workbook(), io.BytesIO()
    fill(book)
    book.save(stream)
    return stream.getvalue()


def a_log(book: openpyxl.Workbook) -> None:
    book.active.append(["Time", "CO2 (ppm)"])
    for i in range(10):
        book.active.append([clock(2024, 2, 13, 18, i), 400 + i])


def refused(tmp_path: Path, content: bytes) -> tuple[str, str]:
    path = tmp_path / "upload"
    path.write_bytes(content)
    found = understand(path, name="upload")
    assert found.layout is None
    assert len(found.problems) == 1
    return found.problems[0].code, found.problems[0].message


# --- archives ---------------------------------------------------------------------------------------------------------


def test_other_files_of_the_system_do_not_count(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    path.write_bytes(zipped(("log.csv", CSV.encode()), ("__MACOSX/._log.csv", b"junk"), (".hidden", b"x")))
    layout = understand(path, name="upload").layout
    assert layout is not None
    assert len(read_all(path, layout).lines) == 300


def test_one_log_per_archive(tmp_path: Path) -> None:
    code, message = refused(tmp_path, zipped(("a.csv", CSV.encode()), ("b.csv", CSV.encode())))
    assert code == "several_files"
    assert "holds 2 files (a.csv, b.csv" in message


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (zipped(), "empty", "holds no file"),
        (zipped(("log.csv", b"")), "empty", "empty"),
        (zipped(("log.csv", CSV.encode()))[:300], "broken_archive", "damaged or cut off"),
        (zipped(("inner.zip", zipped(("log.csv", CSV.encode())))), "binary", "packed again"),
        (gzip.compress(gzip.compress(CSV.encode())), "binary", "packed again"),
        (gzip.compress(b"", mtime=0), "empty", "empty"),
        (b"\x1f\x8b\x08\x00garbage garbage garbage", "broken_archive", "damaged"),
        (zipped(("[Content_Types].xml", b"<x/>"), ("word/document.xml", b"<x/>")), "binary", "office document"),
        (zipped(("[Content_Types].xml", b"<x/>"), ("xl/workbook.xml", b"<x>")), "broken_workbook", "damaged"),
    ],
    ids=range(9),
)
def test_what_cannot_be_unpacked(tmp_path: Path, content: bytes, code: str, words: str) -> None:
    found, message = refused(tmp_path, content)
    assert found == code
    assert words in message


def test_an_encrypted_archive(tmp_path: Path) -> None:
    content = bytearray(zipped(("log.csv", CSV.encode())))
    for signature, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(signature) + at] |= 1
    assert refused(tmp_path, bytes(content))[0] == "encrypted"


def test_a_packed_file_that_is_cut_off_is_read_as_far_as_it_goes(tmp_path: Path) -> None:
    import random

    chance = random.Random(1)
    rows = "".join(
        f"2024-02-13 {10 + i // 3600}:{i // 60 % 60:02}:{i % 60:02},{chance.random():.4f}\n" for i in range(20_000)
    )
    whole = gzip.compress(("Time,HCHO (ppm)\n" + rows).encode())
    path = tmp_path / "upload"
    path.write_bytes(whole[: len(whole) // 2])
    layout = understand(path, name="upload").layout
    assert layout is not None
    found = read_all(path, layout)
    assert 8_000 < len(found.lines) < 12_000
    assert [code for *_, code in found.problems if code != "truncated_line"] == ["truncated_file"]


def test_gzip_of_several_members(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    half = len(CSV) // 2
    path.write_bytes(gzip.compress(CSV[:half].encode()) + gzip.compress(CSV[half:].encode()) + b"\0" * 64)
    layout = understand(path, name="upload").layout
    assert layout is not None
    assert len(read_all(path, layout).lines) == 300


# --- bombs ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def small_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same rules at a thousandth of the size, so that no test has to write gigabytes."""
    monkeypatch.setattr(sources, "RATIO_FROM", 64 * 1024)


def bomb_rows(megabytes: int) -> bytes:
    return CSV.encode() + b"2024-02-13 20:00:00,400\n" * (megabytes * (1 << 20) // 24)


@pytest.mark.usefixtures("small_limits")
def test_a_zip_bomb_is_known_by_what_it_declares(tmp_path: Path) -> None:
    code, message = refused(tmp_path, zipped(("log.csv", bomb_rows(3))))
    assert code == "zip_bomb"
    assert "unpack to far more than a log can hold" in message


@pytest.mark.usefixtures("small_limits")
def test_a_gzip_bomb_is_known_by_what_comes_out(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    path.write_bytes(gzip.compress(bomb_rows(3)))
    found = understand(path, name="upload")
    if found.layout is None:
        assert found.problems[0].code == "zip_bomb"
        return
    with pytest.raises(Unreadable) as caught:
        list(read(path, found.layout))
    assert caught.value.problems[0].code == "zip_bomb"


@pytest.mark.usefixtures("small_limits")
def test_a_zip_that_lies_about_its_size_gives_no_more_than_it_declares(tmp_path: Path) -> None:
    content = bytearray(zipped(("log.csv", bomb_rows(3))))
    at = content.index(b"PK\x01\x02")
    content[at + 24 : at + 28] = struct.pack("<I", 2_000)
    assert refused(tmp_path, bytes(content))[0] == "broken_archive"


@pytest.mark.usefixtures("small_limits")
def test_a_workbook_that_is_a_bomb(tmp_path: Path) -> None:
    sheet = b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>' + b" " * (
        3 << 20
    )
    content = io.BytesIO(workbook(a_log))
    with zipfile.ZipFile(content, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet2.xml", sheet)
    assert refused(tmp_path, content.getvalue())[0] == "zip_bomb"


def test_a_workbook_with_endless_entities(tmp_path: Path) -> None:
    """The billion laughs, in the sheet itself."""
    entities = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha"}">' for i in range(12))
    sheet = (
        f'<?xml version="1.0"?><!DOCTYPE worksheet [{entities}]><worksheet xmlns="http://schemas.openxmlformats.org/'
        'spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>&a11;</t></is></c></row>'
        "</sheetData></worksheet>"
    )
    plain = zipfile.ZipFile(io.BytesIO(workbook(a_log)))
    members = [(n, sheet.encode() if n == "xl/worksheets/sheet1.xml" else plain.read(n)) for n in plain.namelist()]
    code, message = refused(tmp_path, zipped(*members))
    assert code == "zip_bomb"
    assert "entities" in message


def test_a_row_number_beyond_the_end_of_any_sheet(tmp_path: Path) -> None:
    """Rows that are not there are not counted up to."""
    plain = zipfile.ZipFile(io.BytesIO(workbook(a_log)))
    name = "xl/worksheets/sheet1.xml"
    sheet = plain.read(name).replace(b'<row r="11">', b'<row r="4000000000">').replace(b'r="A11"', b'r="A4000000000"')
    members = [(n, sheet if n == name else plain.read(n)) for n in plain.namelist()]
    assert refused(tmp_path, zipped(*members))[0] == "zip_bomb"


def remade(content: bytes, **changes: str) -> bytes:
    """A workbook with texts of its first sheet's XML changed: names are turned into what they stand for below."""
    plain = zipfile.ZipFile(io.BytesIO(content))
    name = "xl/worksheets/sheet1.xml"
    sheet = plain.read(name).decode()
    for old, new in changes.items():
        assert WRITTEN[old] in sheet
        sheet = sheet.replace(WRITTEN[old], new)
    return zipped(*[(n, sheet.encode() if n == name else plain.read(n)) for n in plain.namelist()])


WRITTEN = {"third_row": '<row r="3">', "third_value": "<v>401</v>", "size": '<dimension ref="A1:B11" />'}


# --- workbooks --------------------------------------------------------------------------------------------------------


def test_dates_and_times_in_cells_of_their_own(tmp_path: Path) -> None:
    def fill(book: openpyxl.Workbook) -> None:
        book.active.append(["Date", "Time", "CO2 (ppm)"])
        for i in range(10):
            book.active.append([clock(2024, 2, 13), dt.time(18, i), 400 + i])

    path = tmp_path / "upload"
    path.write_bytes(workbook(fill))
    layout = understand(path, name="upload").layout
    assert layout is not None
    assert read_all(path, layout).stamps[1] == ms_of(clock(2024, 2, 13, 18, 1))


@pytest.mark.parametrize(("late", "first"), [(False, clock(2024, 3, 31)), (True, clock(2028, 4, 1))])
def test_day_numbers_count_from_the_workbooks_own_epoch(tmp_path: Path, late: bool, first: dt.datetime) -> None:
    """Z-14: serial 45382 is 2024-03-31 in the 1900 system and 2028-04-01 in the 1904 system."""

    def fill(book: openpyxl.Workbook) -> None:
        if late:
            book.epoch = CALENDAR_MAC_1904
        book.active.append(["Date", "CO2 (ppm)"])
        for i in range(10):
            book.active.append([45382 + i / 8, 400.5 + i])

    path = tmp_path / "upload"
    path.write_bytes(workbook(fill))
    found = understand(path, name="upload")
    assert found.layout is not None
    assert found.questions == ()
    assert found.layout.stamp_format == ("serial_1904" if late else "serial_1900")
    assert read_all(path, found.layout).stamps[:2] == [ms_of(first), ms_of(first + dt.timedelta(hours=3))]


def test_a_workbook_in_a_gzip(tmp_path: Path) -> None:
    path = tmp_path / "upload"
    path.write_bytes(gzip.compress(workbook(a_log)))
    layout = understand(path, name="upload").layout
    assert layout is not None
    assert (layout.reader, layout.container) == ("xlsx", "gzip")
    assert read_all(path, layout).values[:, 0].tolist() == [float(400 + i) for i in range(10)]


def test_text_in_a_workbooks_number_column(tmp_path: Path) -> None:
    def fill(book: openpyxl.Workbook) -> None:
        a_log(book)
        book.active["B5"] = "low"
        book.active["B6"] = "<0.5"

    path = tmp_path / "upload"
    path.write_bytes(workbook(fill))
    layout = understand(path, name="upload").layout
    assert layout is not None
    found = read_all(path, layout)
    assert found.problems == [(5, "CO2 (ppm)", "low", "text_in_number")]
    assert found.lines == list(range(2, 12))
    assert (found.values[4, 0], found.flags[4, 0]) == (0.5, 1)


def test_a_workbook_without_a_log(tmp_path: Path) -> None:
    code, _ = refused(tmp_path, workbook(lambda book: book.active.append(["nothing", "here"])))
    assert code == "not_a_log"


def test_text_named_like_a_workbook_is_read_as_text(tmp_path: Path) -> None:
    path = write(tmp_path / "log.xlsx", CSV)
    layout = understand(path, name="log.xlsx").layout
    assert layout is not None
    assert layout.reader == "delimited"


@pytest.mark.parametrize(
    ("changes", "values"),
    [
        ({"size": ""}, [400, 401, 402]),  # a sheet need not say how large it is
        ({"size": '<dimension ref="A1:XFD1048576" />'}, [400, 401, 402]),  # … and what it says is not believed
        ({"third_row": "<row>"}, [400, 401, 402]),  # nor need rows have numbers
        ({"third_value": "<f>400+1</f><v>401</v>"}, [400, 401, 402]),  # of a formula, what it last gave
        ({"third_value": "<v>4.01E2</v>"}, [400, 401, 402]),
        ({"third_value": "<v>401<!-- note --></v>"}, [400, 401, 402]),
        ({"third_value": "<v></v>"}, [400, None, 402]),
        ({"third_row": '<row r="3"><c r="D3" t="inlineStr"><is><r><t>a </t></r><r><t>note</t></r></is></c>'}, []),
    ],
    ids=range(8),
)
def test_what_the_xml_of_a_sheet_may_look_like(
    tmp_path: Path, changes: dict[str, str], values: list[float | None]
) -> None:
    """ECMA-376 part 1, 18.3.1: rows and cells may lack their place, and elements may lack everything optional."""
    path = tmp_path / "upload"
    path.write_bytes(remade(workbook(a_log), **changes))
    layout = understand(path, name="upload").layout
    assert layout is not None
    whole = read_all(path, layout)
    if values:
        assert [None if v != v else v for v in whole.values[:3, 0].tolist()] == values
        assert whole.problems == []
    else:  # cells go from left to right: what comes before its turn pushes the others out
        assert [line for line, *_ in whole.problems] == [3]


def test_openpyxl_reads_the_same(tmp_path: Path) -> None:
    """Every kind of cell, against openpyxl's own worksheet; of formulas that gave nothing, the formulas."""

    def fill(book: openpyxl.Workbook) -> None:
        book.active.append(["Time", "CO2 (ppm)", "HCHO (ppm)", "Note", "Seen", "Sum", "Day"])
        for i in range(12):
            moment = clock(2024, 2, 13, 18, i) + dt.timedelta(milliseconds=137 * i)
            values = [moment, 400 + i, i / 7, f"<{i}> & ä", i % 2 == 0, f"=B{i + 2}*2", moment.date()]
            book.active.append([None if k == i % 9 else value for k, value in enumerate(values)])
        book.active["H5"] = dt.timedelta(hours=30)
        book.active["H6"] = dt.time(6, 30)
        book.active["H7"] = -1e-7
        book.active["H8"] = "#N/A"

    stream = io.BytesIO(workbook(fill))
    theirs = openpyxl.load_workbook(stream).active
    assert theirs is not None
    wanted = [
        [sheet_xml.as_text(v) if v is not None else "" for v in row] for row in theirs.iter_rows(values_only=True)
    ]
    with sheets.open_workbook(BookFile("xlsx", stream, len(stream.getvalue()))) as book:
        found = [[*row, *[""] * (8 - len(row))] for row in sheets.sheet_rows(book, "Sheet")]
    assert found == wanted
