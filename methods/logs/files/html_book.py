"""Tables of a web page, which many programs hand out as a workbook. Read piece by piece: no page is held whole."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from html.parser import HTMLParser

from methods.logs.files.book import BREAK, MAX_COLUMNS, MOST_LETTERS, MOST_SHEETS, BookFile, one_line
from methods.logs.files.sources import refuse
from methods.logs.sketch import Cells
from methods.logs.text.lines import sniff_encoding

PIECE = 1 << 16
HEAD = 256 * 1024
#: A mark that goes on for longer is none, and no table lies deeper.
LONGEST_MARK, DEEPEST = 1 << 20, 50
_CHARSET = re.compile(rb"<meta[^>]{0,200}charset\s*=\s*[\"']?\s*([\w.:-]{2,30})", re.IGNORECASE)
_CELLS, _UNSEEN = ("td", "th"), ("script", "style", "template", "select")
_BREAKS = ("br", "p", "div", "li")
#: Figures that stand higher or lower than those beside them are of another number: "711¹" is not 7111.
_RAISED = {"sup": "^", "sub": "_"}
_OF_NUMBERS = frozenset("0123456789.,+-−–")
Attributes = list[tuple[str, str | None]]


class HtmlBook:
    """``sheets`` are its tables by their captions, or by their numbers. Days may count from anywhere: ``late`` says
    nothing."""

    late = False

    def __init__(self, file: BookFile) -> None:
        self.stream = file.stream
        listed = _TableListing()
        for _ in self._parsed(listed):
            pass
        self.numbers = listed.titles()
        self.sheets = {title: number in listed.hidden for title, number in self.numbers.items()}

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        reader = _TableRows(self.numbers[title], columns)
        for _ in self._parsed(reader):
            taken, reader.taken = reader.taken, []
            yield from taken

    def close(self) -> None:
        """The stream is its opener's."""

    def _parsed(self, parser: _Tables) -> Iterator[None]:
        self.stream.seek(0)
        decoder = codecs.getincrementaldecoder(_encoding(self.stream.read(HEAD)))(errors="replace")
        self.stream.seek(0)
        while piece := self.stream.read(PIECE):
            parser.feed(decoder.decode(piece))
            if len(parser.rawdata) > LONGEST_MARK:
                raise refuse("broken_workbook", "A mark of this page never ends: it is damaged. Save it again.")
            yield
        parser.feed(decoder.decode(b"", True))
        parser.close()
        parser.end_all()
        yield


def _encoding(head: bytes) -> str:
    """What the page says of itself, unless its first bytes show that it is not so."""
    seen = sniff_encoding(head)
    said = _CHARSET.search(head[:8192])
    if said is None or seen.startswith("utf-16"):
        return seen
    try:
        codec = codecs.lookup(said[1].decode())
        head.decode(codec.name)
    except (LookupError, UnicodeError):
        return seen
    return codec.name if not codec.name.startswith("utf-16") else seen


class _Table:
    """A table that is open. ``below`` has what cells above hand down: the column, how often, and their text."""

    def __init__(self, number: int) -> None:
        self.number = number
        self.row = 0
        self.cells: Cells | None = None
        self.text: list[str] | None = None
        self.letters = 0
        self.mark = ""
        self.across = self.down = 1
        self.below: dict[int, tuple[int, str]] = {}


class _Tables(HTMLParser):
    """Follows the tables of a page, those within tables too; ends of cells and rows may be missing."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[_Table] = []
        self.count = 0
        self.unseen = 0

    def began(self, number: int, said: dict[str, str]) -> None:
        """A table began."""

    def ended(self, number: int, row: int, cells: Cells) -> None:
        """A row ended."""

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        if tag in _UNSEEN:
            self.unseen += 1
        elif tag == "table":
            if len(self.open) == DEEPEST:
                raise refuse("broken_workbook", "The tables of this page lie too deep within each other to be a log.")
            self.count += 1
            self.open.append(_Table(self.count))
            self.began(self.count, {name: value or "" for name, value in attrs})
        elif self.open and tag == "tr":
            self._end_row(self.open[-1])
            self.open[-1].cells = []
        elif self.open and tag in _CELLS:
            self._begin_cell(self.open[-1], dict(attrs))
        elif tag in _BREAKS:
            self.handle_data(BREAK)
        elif self.open and tag in _RAISED:
            self.open[-1].mark = _RAISED[tag]

    def handle_endtag(self, tag: str) -> None:
        if tag in _UNSEEN:
            self.unseen = max(0, self.unseen - 1)
        elif not self.open:
            return
        elif tag in _RAISED:
            self.open[-1].mark = _RAISED[tag]
        elif tag in _CELLS:
            self._end_cell(self.open[-1])
        elif tag in ("tr", "thead", "tbody", "tfoot"):
            self._end_row(self.open[-1])
        elif tag == "table":
            self._end_row(self.open[-1])
            self.open.pop()

    def handle_data(self, data: str) -> None:
        table = self.open[-1] if self.open else None
        if table is not None and table.text is not None and not self.unseen and table.letters < MOST_LETTERS:
            if table.mark and data.strip():
                before = table.text[-1].rstrip()[-1:] if table.text else ""
                table.text.append(table.mark if {before, data.lstrip()[:1]} <= _OF_NUMBERS else "")
                table.mark = ""
            table.text.append(data)
            table.letters += len(data)

    def end_all(self) -> None:
        while self.open:
            self._end_row(self.open.pop())

    def _begin_cell(self, table: _Table, said: dict[str, str | None]) -> None:
        self._end_cell(table)
        if table.cells is None:  # a row need not be said to begin
            table.cells = []
        table.text, table.letters, table.mark = [], 0, ""
        table.across, table.down = _span(said.get("colspan")), _span(said.get("rowspan"))

    def _end_cell(self, table: _Table) -> None:
        if table.text is None or table.cells is None:
            return
        text, table.text = (
            one_line(BREAK.join(" ".join(line.split()) for line in "".join(table.text).split(BREAK))),
            None,
        )
        _hand_down(table)
        for place in range(table.across):
            if len(table.cells) > MAX_COLUMNS:
                break
            if table.down > 1:
                table.below[len(table.cells)] = (table.down - 1, "" if place else text)
            table.cells.append("" if place else text)

    def _end_row(self, table: _Table) -> None:
        self._end_cell(table)
        if table.cells is not None:
            _hand_down(table)
            table.row += 1
            self.ended(table.number, table.row, table.cells)
            table.cells = None


def _hand_down(table: _Table) -> None:
    """The cells of rows above that reach down to the place that is next."""
    assert table.cells is not None
    while (above := table.below.pop(len(table.cells), None)) is not None:
        left, text = above
        if left > 1:
            table.below[len(table.cells)] = left - 1, text
        table.cells.append(text)


def _span(said: str | None) -> int:
    """As HTML has it: 1 for what is no number, 1,000 columns or 65,534 rows at most."""
    return min(max(1, int(said)), 1000) if said and said.isascii() and said.isdigit() and len(said) < 6 else 1


class _TableListing(_Tables):
    """The tables of a page: captions, and which of them are hidden."""

    def __init__(self) -> None:
        super().__init__()
        self.captions: dict[int, str] = {}
        self.hidden: set[int] = set()
        self.caption: list[str] | None = None

    def titles(self) -> dict[str, int]:
        """Captions where they are given and tell tables apart."""
        told = list(self.captions.values())
        return {
            (text if text and told.count(text) == 1 else f"table {number}"): number
            for number, text in self.captions.items()
        }

    def began(self, number: int, said: dict[str, str]) -> None:
        if number <= MOST_SHEETS:
            self.captions[number] = ""
            if "hidden" in said or "display:none" in said.get("style", "").replace(" ", "").lower():
                self.hidden.add(number)

    def handle_starttag(self, tag: str, attrs: Attributes) -> None:
        super().handle_starttag(tag, attrs)
        if tag == "caption" and self.open:
            self.caption = []

    def handle_data(self, data: str) -> None:
        super().handle_data(data)
        if self.caption is not None and sum(map(len, self.caption)) < 200:
            self.caption.append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "caption" and self.caption is not None:
            if self.open and self.open[-1].number in self.captions:
                self.captions[self.open[-1].number] = " ".join("".join(self.caption).split())[:100]
            self.caption = None
        super().handle_endtag(tag)


class _TableRows(_Tables):
    """The rows of one table, as far as they were taken."""

    def __init__(self, number: int, columns: int) -> None:
        super().__init__()
        self.number, self.columns = number, columns
        self.taken: list[tuple[int, Cells]] = []

    def ended(self, number: int, row: int, cells: Cells) -> None:
        if number == self.number:
            self.taken.append((row, cells[: self.columns]))
