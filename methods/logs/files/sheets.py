"""Workbooks of every kind, read row by row. What a workbook holds is hostile until shown otherwise."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from xml.parsers import expat

from defusedxml.common import DefusedXmlException

from methods.logs.files.book import MAX_COLUMNS, MAX_ROWS, Book, BookFile
from methods.logs.files.html_book import HtmlBook
from methods.logs.files.ods_book import OdsBook
from methods.logs.files.old_book import OldBook
from methods.logs.files.sources import bomb, refuse
from methods.logs.files.xlsx_book import XlsxBook
from methods.logs.files.xml_book import XmlBook
from methods.logs.sketch import Cells
from methods.logs.types import Unreadable

_NO_MEMORY = expat.errors.codes[expat.errors.XML_ERROR_NO_MEMORY]
_OPENERS: dict[str, Callable[[BookFile], Book]] = {
    "xlsx": XlsxBook, "ods": OdsBook, "xls": OldBook, "html": HtmlBook, "xml": XmlBook,
}  # fmt: skip


@contextmanager
def open_workbook(file: BookFile) -> Iterator[Book]:
    """A workbook, its sheets not yet read. Raises Unreadable for bombs, and for what is damaged or encrypted."""
    try:
        book = _OPENERS[file.kind](file)
    except Unreadable:
        raise
    except Exception as error:  # whatever a library makes of a hostile workbook, it is a workbook we cannot read
        raise _blame(error) from error
    try:
        yield book
    finally:
        book.close()


def sheet_rows(book: Book, title: str, columns: int = MAX_COLUMNS) -> Iterator[Cells]:
    """All rows of a sheet as texts, in order: row 1 first. Raises Unreadable where the sheet is damaged.

    A few cells beyond ``columns`` are given, too, so that a row that is too long shows.
    """
    if title not in book.sheets:
        raise refuse("no_sheet", f"The workbook has no sheet “{title[:60]}”: choose the layout again.")
    expected = 1
    try:
        for number, cells in book.rows(title, min(columns + 8, MAX_COLUMNS)):
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
    if _is_out_of_memory(error):
        raise MemoryError from error
    seen: BaseException | None = error
    while seen is not None:
        if isinstance(seen, DefusedXmlException):
            return refuse("zip_bomb", "The workbook declares entities, as attacks do. It was not read.")
        seen = seen.__cause__
    return refuse("broken_workbook", "The workbook is damaged or encrypted: save it again as XLSX.")


def _is_out_of_memory(error: BaseException | None) -> bool:
    """Whether it is the limit of the process that was met, and not the file that is wrong."""
    while error is not None:
        if isinstance(error, MemoryError) or getattr(error, "code", None) == _NO_MEMORY:
            return True
        error = error.__cause__ or error.__context__
    return False
