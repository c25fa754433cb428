"""XLSX workbooks, read row by row. What a workbook holds is hostile until shown otherwise."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO

from defusedxml.common import DefusedXmlException

from methods.logs.sheet_xml import Book, book_of, texts_of
from methods.logs.sketch import Cells
from methods.logs.sources import MEGABYTE, bomb, check_declared, is_bomb, refuse
from methods.logs.types import Unreadable

#: What openpyxl holds in memory whole: everything but the sheets.
MAX_SHARED_TEXT = 32 * MEGABYTE
MAX_ROWS, MAX_COLUMNS = 1_048_576, 256


@contextmanager
def open_workbook(stream: IO[bytes], size: int) -> Iterator[Book]:
    """A workbook, its sheets not yet read. Raises Unreadable for bombs, and for what is damaged or encrypted."""
    import openpyxl  # late: it costs a second, and most logs are text

    if not openpyxl.DEFUSEDXML:
        raise ImportError("openpyxl must find defusedxml: without it a workbook could expand entities without end")
    try:
        with zipfile.ZipFile(stream) as archive:
            _check(archive, size)
        stream.seek(0)
        book = book_of(stream)
    except Unreadable:
        raise
    except Exception as error:  # whatever a library makes of a hostile workbook, it is a workbook we cannot read
        raise _blame(error) from error
    try:
        yield book
    finally:
        book.archive.close()


def _check(archive: zipfile.ZipFile, size: int) -> None:
    """Declared sizes first, then what the members really expand to, counted without keeping it."""
    check_declared(archive, size)
    total = 0
    for info in archive.infolist():
        expanded = _expanded(archive, info, size, total)
        if not info.filename.startswith("xl/worksheets/") and expanded > MAX_SHARED_TEXT:
            raise bomb()
        total += expanded


def _expanded(archive: zipfile.ZipFile, info: zipfile.ZipInfo, size: int, before: int) -> int:
    found = 0
    try:
        with archive.open(info) as member:
            while piece := member.read(MEGABYTE):
                found += len(piece)
                if is_bomb(before + found, size):
                    raise bomb()
    except (RuntimeError, NotImplementedError) as error:
        raise refuse("broken_workbook", "The workbook is encrypted: save it without a password.") from error
    return found


def sheet_rows(book: Book, title: str, columns: int = MAX_COLUMNS) -> Iterator[Cells]:
    """All rows of a sheet as texts, in order: row 1 first. Raises Unreadable where the sheet is damaged.

    A few cells beyond ``columns`` are given, too, so that a row that is too long shows.
    """
    if title not in book.sheets:
        raise refuse("no_sheet", f"The workbook has no sheet “{title[:60]}”: choose the layout again.")
    expected = 1
    try:
        for number, cells in texts_of(book, title, min(columns + 8, MAX_COLUMNS)):
            if number > MAX_ROWS:
                raise bomb()
            if number < expected:  # rows go down the sheet
                continue
            yield from ([] for _ in range(expected, number))
            yield cells
            expected = number + 1
    except Unreadable:
        raise
    except Exception as error:  # as above
        raise _blame(error) from error


def _blame(error: BaseException) -> Unreadable:
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, DefusedXmlException):
            return refuse("zip_bomb", "The workbook declares entities, as attacks do. It was not read.")
        seen = seen.__cause__
    return refuse("broken_workbook", "The workbook is damaged or encrypted: save it again as XLSX.")


def counts_from_1904(book: Book) -> bool:
    return book.epoch.year == 1904
