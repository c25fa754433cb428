"""Workbooks of the open document format (ISO/IEC 26300): rows straight from the XML as it is unpacked, piece by piece,
as those of XLSX are."""

from __future__ import annotations

import datetime as dt
import re
import zipfile
from collections.abc import Iterator
from xml.parsers import expat
from xml.sax.saxutils import quoteattr

from methods.logs.files.book import BREAK, MAX_COLUMNS, MAX_ROWS, MOST_LETTERS, MOST_SHEETS, BookFile, one_line
from methods.logs.files.counted import no_entities
from methods.logs.files.sheet_xml import PIECE, as_text, number_text, percent_text
from methods.logs.files.sources import MEGABYTE, bomb, refuse
from methods.logs.files.xlsx_book import check_members
from methods.logs.sketch import Cells

_NAMES = "urn:oasis:names:tc:opendocument:xmlns:"
OFFICE, TABLE, TEXT, STYLE = (f"{_NAMES}{part}:1.0 " for part in ("office", "table", "text", "style"))
_CELLS = frozenset((f"{TABLE}table-cell", f"{TABLE}covered-table-cell"))
#: What may stand in a cell or a sheet and is none of its value.
_BESIDE = frozenset((f"{OFFICE}annotation", f"{TABLE}shapes", f"{TABLE}sub-table", f"{_NAMES}drawing:1.0 frame"))
_MIDNIGHT = dt.datetime(1970, 1, 1)  # noqa: DTZ001 - of no day and in no zone
_LENGTH = re.compile(r"(-?)P(?:(\d+)D)?T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+(?:\.\d+)?)S)?")


class OdsBook:
    def __init__(self, file: BookFile) -> None:
        """Raises Unreadable for bombs and what is encrypted; ExpatError, or an error of the archive, for damage."""
        self.archive = zipfile.ZipFile(file.stream)
        with self.archive.open("META-INF/manifest.xml") as manifest:
            if b"encryption-data" in manifest.read(MEGABYTE):
                raise refuse("encrypted", "The workbook is encrypted: save it without a password.")
        check_members(self.archive, file.size, "")  # only the sheets are read, and those piece by piece
        self.content = self.archive.open("content.xml")
        listed = _SheetListing()
        for _ in self._parsed(listed.parser):
            pass
        self.sheets, self.late = listed.sheets(), listed.late
        # A sheet is read by itself, below a head that declares the names it is written in; from the start otherwise.
        self.places = listed.places if listed.is_plain and self._piece(0, 2) in (b"<?", b"<o") else {}

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        reader = _SheetRows(title, columns)
        at, head = self.places.get(title, (0, b""))
        reader.parser.Parse(head, False)
        for _ in self._parsed(reader.parser, at):
            taken, reader.rows = reader.rows, []
            yield from _repeated(taken)
            if reader.is_over:
                return

    def close(self) -> None:
        self.content.close()
        self.archive.close()

    def _parsed(self, parser: expat.XMLParserType, at: int = 0) -> Iterator[None]:
        while piece := self._piece(at, PIECE):
            try:
                parser.Parse(piece, False)
            except _SheetEnds:
                yield
                return
            at += len(piece)
            yield
        parser.Parse(b"", True)
        yield

    def _piece(self, at: int, size: int) -> bytes:
        """Of the content as it is unpacked; going on from where the last piece ended costs no unpacking anew."""
        if self.content.tell() != at:
            self.content.seek(at)
        return self.content.read(size)


def _repeated(rows: list[tuple[int, int, Cells]]) -> Iterator[tuple[int, Cells]]:
    """A row that is said to repeat is many; what lies below the last row of any sheet is no log."""
    for first, count, cells in rows:
        if first + count - 1 > MAX_ROWS:
            raise bomb()
        for number in range(first, first + count):
            yield number, list(cells)


class _SheetEnds(Exception):
    """Stops the parser: below are other sheets."""


class _SheetListing:
    """The names of the sheets, which of them are hidden, and the day that days are counted from."""

    def __init__(self) -> None:
        self.late = False
        #: The byte of the content that each sheet begins at, and what declares the names in it.
        self.places: dict[str, tuple[int, bytes]] = {}
        self.is_plain = True
        self._declared: dict[str, list[str]] = {}
        self._styles: dict[str, str] = {}
        self._hidden: set[str] = set()
        self._style = ""
        self.parser = _parser()
        self.parser.StartElementHandler = self._start
        self.parser.XmlDeclHandler = self._encoded
        self.parser.StartNamespaceDeclHandler = self._declare
        self.parser.EndNamespaceDeclHandler = self._forget

    def sheets(self) -> dict[str, bool]:
        return {title: style in self._hidden for title, style in self._styles.items()}

    def _start(self, name: str, said: dict[str, str]) -> None:
        if name == f"{STYLE}style":
            self._style = said.get(f"{STYLE}name", "")
        elif name == f"{STYLE}table-properties" and said.get(f"{TABLE}display") == "false":
            self._hidden.add(self._style)
        elif name == f"{TABLE}null-date":
            self.late = said.get(f"{TABLE}date-value", "").startswith("1904")
        elif name == f"{TABLE}table" and len(self._styles) < MOST_SHEETS:
            title = said.get(f"{TABLE}name", "")
            self._styles.setdefault(title, said.get(f"{TABLE}style-name", ""))
            self.places.setdefault(title, (self.parser.CurrentByteIndex, self._head()))

    def _head(self) -> bytes:
        said = ((prefix, uris[-1]) for prefix, uris in self._declared.items() if uris)
        names = (f" xmlns{':' * bool(prefix)}{prefix}={quoteattr(uri)}" for prefix, uri in said)
        return f"<sheets{''.join(names)}>".encode()

    def _encoded(self, version: str, encoding: str | None, standalone: int) -> None:
        self.is_plain = (encoding or "utf-8").casefold() in ("utf-8", "us-ascii")

    def _declare(self, prefix: str | None, uri: str) -> None:
        self._declared.setdefault(prefix or "", []).append(uri)

    def _forget(self, prefix: str | None) -> None:
        self._declared[prefix or ""].pop()


class _SheetRows:
    """The rows of one sheet: first number, how often it is there, and its cells."""

    def __init__(self, title: str, columns: int) -> None:
        self.title, self.columns = title, columns
        self.rows: list[tuple[int, int, Cells]] = []
        self.is_over = False
        self._within = self._beside = 0  # how deep in tables, the wanted one being the first; and in what is no value
        self._row, self._again = 1, 1
        self._cells: Cells = []
        self._column = 0
        self._said: dict[str, str] = {}
        self._text: list[str] = []
        self._letters = 0
        self.parser = _parser()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._heard

    def _start(self, name: str, said: dict[str, str]) -> None:
        if name == f"{TABLE}table":
            if self._within or (said.get(f"{TABLE}name", "") == self.title and not self.is_over):
                self._within += 1
        elif not self._within:
            return
        elif name in _BESIDE or self._beside:
            self._beside += name in _BESIDE
        elif name == f"{TABLE}table-row":
            self._cells, self._column = [], 0
            self._again = _count(said, "number-rows-repeated")
        elif name in _CELLS:
            self._said, self._text, self._letters = said, [], 0
        elif (name == f"{TEXT}p" and self._text) or name == f"{TEXT}line-break":
            self._hear(BREAK)
        elif name == f"{TEXT}s":
            self._hear(" " * min(int(said.get(f"{TEXT}c", 1)), 100))
        elif name == f"{TEXT}tab":
            self._hear(" ")

    def _end(self, name: str) -> None:
        if not self._within:
            return
        if name == f"{TABLE}table":
            self._within -= 1
            self.is_over = not self._within
            if self.is_over:
                raise _SheetEnds
        elif self._beside:
            self._beside -= name in _BESIDE
        elif name in _CELLS:
            self._cell(self._value())
        elif name == f"{TABLE}table-row":
            if self._cells and self._within == 1:
                self.rows.append((self._row, self._again, self._cells))
            self._row += self._again if self._within == 1 else 0

    def _heard(self, letters: str) -> None:
        if self._within and not self._beside:
            self._hear(letters)

    def _hear(self, letters: str) -> None:
        if self._letters < MOST_LETTERS:
            self._letters += len(letters)
            self._text.append(letters)

    def _cell(self, text: str) -> None:
        again = _count(self._said, "number-columns-repeated")
        if text and self._column < self.columns:
            self._cells.extend([""] * (self._column - len(self._cells)))
            self._cells.extend([text] * min(again, self.columns - self._column))
        self._column = min(self._column + again, MAX_COLUMNS + 1)
        self._said = {}

    def _value(self) -> str:
        said, text = self._said, one_line("".join(self._text))
        kind = said.get(f"{OFFICE}value-type", "")
        value = said.get(f"{OFFICE}{_VALUES.get(kind, 'value')}", "")
        if kind == "date" and value:
            return _moment(value)
        if kind == "time" and value:
            return _length(value)
        if kind == "boolean" and value:
            return str(value == "true")
        if kind == "percentage" and value:
            return percent_text(value)
        if kind in ("float", "currency") and value:
            return number_text(value)
        formula = said.get(f"{TABLE}formula", "")
        if formula and not text and not kind:
            return "=" + formula.partition("=")[2][:MOST_LETTERS]
        return value or text


_VALUES = {"date": "date-value", "time": "time-value", "boolean": "boolean-value", "string": "string-value"}


def _count(said: dict[str, str], name: str) -> int:
    return max(1, int(said.get(f"{TABLE}{name}", 1)))


def _moment(value: str) -> str:
    """A day without a time of day is its midnight, as in other workbooks."""
    try:
        moment = dt.datetime.fromisoformat(value)
    except ValueError:
        return value
    return as_text(moment)


def _length(value: str) -> str:
    """PT08H30M00S as the time of day that it is shown as, or as a length of time where it is longer than a day."""
    found = _LENGTH.fullmatch(value)
    if found is None:
        return value
    sign, days, hours, minutes, seconds = found.groups()
    length = dt.timedelta(
        days=int(days or 0), hours=int(hours or 0), minutes=int(minutes or 0), seconds=float(seconds or 0)
    )
    if sign or length >= dt.timedelta(days=1):
        return f"{sign}{as_text(length)}"
    return as_text((_MIDNIGHT + length).time())


def _parser() -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.EntityDeclHandler = no_entities
    return parser
