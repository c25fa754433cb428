"""The rows of one sheet of a workbook, straight from its XML as it is unpacked, piece by piece.

openpyxl makes an object of each cell on its way; a log has millions of them and needs only their texts. What the
workbook says of itself (sheets, shared texts, which styles are dates, its epoch) still comes from openpyxl, but not by
way of its worksheets: one that does not say how large it is would be read through just to be opened.
"""

from __future__ import annotations

import datetime as dt
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import IO, Any
from xml.parsers import expat

from methods.logs.files.book import MOST_LETTERS, MOST_SHEETS
from methods.logs.files.counted import MOST_ACROSS, MOST_CELLS, holds_too_much, no_entities, shared_texts
from methods.logs.sketch import Cells
from methods.logs.stamps.stamp_formats import to_near_second
from methods.quantities.durations import DAY_MS

PIECE = 1 << 16
#: So many decimals of a day are 86 ms.
FEW_DECIMALS = 6
_BUILT_IN_PERCENTS = {9: "0%", 10: "0.00%"}  # ISO/IEC 29500-1, 18.8.30
_LITERAL = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')


@dataclass(frozen=True, slots=True)
class XlsxParts:
    """What a workbook says of itself. ``sheets``: the member of the archive that holds each, by title. ``dates`` and
    ``lengths`` are the styles of cells that count days since ``epoch``, or just days; ``percents`` of those that show
    0.438 as 43.8 %."""

    archive: zipfile.ZipFile
    sheets: dict[str, str]
    hidden: frozenset[str]
    shared: list[str]
    epoch: dt.datetime
    dates: frozenset[int]
    lengths: frozenset[int]
    percents: frozenset[int]


def book_of(stream: IO[bytes]) -> XlsxParts:
    """Raises whatever openpyxl makes of what is wrong with it. The sheets are not looked at."""
    from openpyxl.reader.excel import ExcelReader  # late: it costs a second, and most logs are text
    from openpyxl.styles.stylesheet import apply_stylesheet

    reader = ExcelReader(stream, read_only=True, data_only=True, keep_links=False)
    reader.read_manifest()
    reader.read_workbook()
    apply_stylesheet(reader.archive, reader.wb)
    found = [(sheet, rel) for sheet, rel in reader.parser.find_sheets() if rel.Type.endswith("/worksheet")]
    hidden = frozenset(sheet.name for sheet, _ in found if sheet.state != "visible")
    sheets = {sheet.name: rel.target for sheet, rel in found[:MOST_SHEETS]}
    sheets = {name: member for name, member in sheets.items() if member in reader.valid_files}
    book = reader.wb
    dates, lengths = frozenset(book._date_formats), frozenset(book._timedelta_formats)
    return XlsxParts(reader.archive, sheets, hidden, _shared(reader), book.epoch, dates, lengths, _percents(book))


def _shared(reader: Any) -> list[str]:
    """Not by openpyxl, which keeps each element of the part until its end."""
    from openpyxl.xml.constants import SHARED_STRINGS

    part = reader.package.find(SHARED_STRINGS)
    if part is None:
        return []
    with reader.archive.open(part.PartName[1:]) as member:
        return shared_texts(member, part.PartName)


def _percents(book: Any) -> frozenset[int]:
    """Styles of numbers that are shown times 100; a percent sign in quotes is just a letter."""
    own = {164 + n: form for n, form in enumerate(book._number_formats)}  # the first number that is not built in
    forms = [own.get(style.numFmtId, _BUILT_IN_PERCENTS.get(style.numFmtId, "")) for style in book._cell_styles]
    return frozenset(n for n, form in enumerate(forms) if "%" in _LITERAL.sub("", form))


def texts_of(book: XlsxParts, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
    """Row numbers, from 1, and the texts of the first ``columns`` cells, up to the last one that is there.

    Rows that are not in the file are not given. Raises whatever is wrong with it: ExpatError, EntitiesForbidden, or
    an error of the archive or of a cell that is no number.
    """
    reader = _Reader(book, columns)
    with book.archive.open(book.sheets[title]) as member:
        while piece := member.read(PIECE):
            reader.parser.Parse(piece, False)
            if reader.seen > MOST_CELLS:
                raise holds_too_much(title)
            yield from reader.taken()
    reader.parser.Parse(b"", True)
    yield from reader.taken()


class _Reader:
    def __init__(self, book: XlsxParts, columns: int) -> None:
        self.columns = columns
        self.values = _Values(book)
        self.rows: list[tuple[int, Cells]] = []
        self.row = self.column = self.seen = 0
        self.cells: Cells = []
        self.kind, self.style = "n", 0
        self.found, self.inside = "", False  # the letters of a cell, and whether they are of its value
        self.formula: str | None = None
        self.of_formula = False
        self.phonetic = False
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._letters
        self.parser.EntityDeclHandler = no_entities

    def taken(self) -> list[tuple[int, Cells]]:
        taken, self.rows = self.rows, []
        return taken

    def _start(self, name: str, said: dict[str, str]) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        if name == "c":
            where = said.get("r")
            self.seen += 1
            self.column = _column(where) if where else self.column + 1
            if self.column > MOST_ACROSS:
                raise holds_too_much("a row")
            self.kind, self.style, self.found = said.get("t", "n"), int(said.get("s", 0)), ""
            self.formula = None
        elif name == "f":
            self.formula, self.of_formula = "=", True
        elif name == "v" or (name == "t" and not self.phonetic):
            self.inside = True
        elif name == "row":
            self.row = int(said["r"]) if "r" in said else self.row + 1
            self.column, self.cells = 0, []
        elif name == "rPh":
            self.phonetic = True

    def _letters(self, letters: str) -> None:
        if self.inside and len(self.found) < MOST_LETTERS:
            self.found += letters
        elif self.of_formula and self.formula is not None and len(self.formula) < MOST_LETTERS:
            self.formula += letters

    def _end(self, name: str) -> None:
        if ":" in name:
            name = name.rpartition(":")[2]
        if name in ("v", "t"):
            self.inside = False
        elif name == "f":
            self.of_formula = False
        elif name == "c":
            if len(self.cells) < self.column <= self.columns and (text := self._text()):
                self.cells.extend([""] * (self.column - 1 - len(self.cells)))
                self.cells.append(text)
        elif name == "row":
            self.rows.append((self.row, self.cells))
        elif name == "rPh":
            self.phonetic = False

    def _text(self) -> str:
        """Of a formula what it last gave, or the formula where nothing says that it ever gave something."""
        if self.found:
            return self.values.text(self.found, self.kind, self.style)
        if self.formula is None or self.kind == "str":
            return ""
        return self.formula if len(self.formula) > 1 else "=…"  # shared with a cell above, which has its letters


class _Values:
    """What the XML of a cell says, as text."""

    def __init__(self, book: XlsxParts) -> None:
        self.book = book

    def text(self, cell_text: str, kind: str, style: int) -> str:
        if kind == "n":
            if style in self.book.dates:
                return self._date(_at_near_second(cell_text), style)
            return percent_text(cell_text) if style in self.book.percents else number_text(cell_text)
        if kind == "s":
            return self.book.shared[int(cell_text)]
        if kind == "b":
            return str(bool(int(cell_text)))
        if kind == "d":
            from openpyxl.utils.datetime import from_ISO8601

            return as_text(from_ISO8601(cell_text))
        return cell_text

    def _date(self, count: float, style: int) -> str:
        from openpyxl.utils.datetime import from_excel

        try:
            return as_text(from_excel(count, self.book.epoch, timedelta=style in self.book.lengths))
        except (OverflowError, ValueError):  # as a spreadsheet shows it
            return "#VALUE!"


def _at_near_second(cell_text: str) -> float:
    """Days of few decimals are of the second they are near to, as in text; with all decimals they are what they are."""
    days = float(cell_text)
    second = to_near_second(round(days * DAY_MS))
    is_exact = len(cell_text.partition(".")[2]) > FEW_DECIMALS
    return days if is_exact or (days < 1 and second >= DAY_MS) else second / DAY_MS


def number_text(cell_text: str) -> str:
    """A number of XML as a log would print it. Raises ValueError for what is none."""
    plain = cell_text.isdecimal() and not cell_text.startswith("0")
    return cell_text if plain else as_text(_number(cell_text))


def percent_text(cell_text: str) -> str:
    """A number of XML that is shown as percent, without the noise of its last bits: 0.438 is 43.8%."""
    return f"{as_text(round(float(cell_text) * 100, 10))}%"


def _number(cell_text: str) -> float:
    return float(cell_text) if "." in cell_text or "E" in cell_text or "e" in cell_text else int(cell_text)


@lru_cache(maxsize=4096)
def _column_of(letters: str) -> int:
    column = 0
    for letter in letters:
        if not "A" <= letter <= "Z":
            raise ValueError("not a cell's place")
        column = column * 26 + ord(letter) - 64
    return column


def _column(where: str) -> int:
    return _column_of(where.rstrip("0123456789"))


def as_text(value: object) -> str:
    """A cell as a log would print it: ISO dates and times, numbers so that they read back to the same value."""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    if isinstance(value, dt.datetime):
        rounded = value + dt.timedelta(microseconds=500)
        return rounded.isoformat(sep=" ", timespec="milliseconds").removesuffix(".000")
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, dt.time):
        return value.isoformat(timespec="milliseconds").removesuffix(".000")
    return length_text(value) if isinstance(value, dt.timedelta) else str(value)


def length_text(length: dt.timedelta) -> str:
    """A length of time as a spreadsheet shows it, in any number of hours: 26:15:00."""
    ms = round(length / dt.timedelta(milliseconds=1))
    seconds, rest = divmod(abs(ms), 1000)
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    return f"{'-' * (ms < 0)}{hour:02d}:{minute:02d}:{second:02d}{f'.{rest:03d}' * (rest > 0)}"
