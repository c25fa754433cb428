"""Workbooks written as one XML document: Workbook, Worksheet, Table, Row, Cell and Data, whatever their namespace."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from xml.parsers import expat

from methods.logs.files.book import MAX_COLUMNS, MOST_LETTERS, MOST_SHEETS, BookFile
from methods.logs.files.counted import no_entities
from methods.logs.files.sheet_xml import PIECE, as_text, number_text
from methods.logs.sketch import Cells


class XmlBook:
    def __init__(self, file: BookFile) -> None:
        """Raises EntitiesForbidden for an attack, ExpatError for damage."""
        self.stream = file.stream
        listed = _XmlListing()
        for _ in self._parsed(listed.parser):
            pass
        self.sheets, self.late = listed.sheets, listed.late

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        reader = _XmlRows(title, columns)
        for _ in self._parsed(reader.parser):
            taken, reader.taken = reader.taken, []
            yield from taken

    def close(self) -> None:
        """The stream is its opener's."""

    def _parsed(self, parser: expat.XMLParserType) -> Iterator[None]:
        self.stream.seek(0)
        while piece := self.stream.read(PIECE):
            parser.Parse(piece, False)
            yield
        parser.Parse(b"", True)
        yield


def _local(name: str) -> str:
    return name.rpartition(" ")[2]


def _said(attributes: dict[str, str]) -> dict[str, str]:
    return {_local(name): value for name, value in attributes.items()}


class _XmlListing:
    """The sheets, which of them are hidden, and the day that days are counted from."""

    def __init__(self) -> None:
        self.sheets: dict[str, bool] = {}
        self.late = False
        self._title = ""
        self._inside = ""
        self.parser = _parser()
        self.parser.StartElementHandler = self._start
        self.parser.CharacterDataHandler = self._heard

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        self._inside = _local(name)
        if self._inside == "Worksheet" and len(self.sheets) < MOST_SHEETS:
            self._title = _said(attributes).get("Name", "")
            self.sheets.setdefault(self._title, False)
        self.late = self.late or self._inside == "Date1904"

    def _heard(self, letters: str) -> None:
        if self._inside == "Visible" and letters.strip() in ("SheetHidden", "SheetVeryHidden"):
            self.sheets[self._title] = True


class _XmlRows:
    """The rows of one sheet, as far as they were taken."""

    def __init__(self, title: str, columns: int) -> None:
        self.title, self.columns = title, columns
        self.taken: list[tuple[int, Cells]] = []
        self._within = self._is_over = False
        self._row = self._column = self._across = 0
        self._cells: Cells = []
        self._kind, self._formula = "", ""
        self._text: list[str] | None = None
        self._letters = 0
        self._found = ""
        self._beside = False
        self.parser = _parser()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._heard

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        element, said = _local(name), _said(attributes)
        if element == "Worksheet":
            self._within = said.get("Name", "") == self.title and not self._is_over
        elif not self._within:
            return
        elif element == "Row":
            self._row = int(said.get("Index", self._row + 1))
            self._cells, self._column = [], 0
        elif element == "Cell":
            self._column = min(int(said.get("Index", self._column + 1)), MAX_COLUMNS + 1)
            self._across = int(said.get("MergeAcross", 0))
            self._formula, self._found = said.get("Formula", ""), ""
        elif element == "Comment":
            self._beside = True
        elif element == "Data" and not self._beside:
            self._kind, self._text, self._letters = said.get("Type", ""), [], 0

    def _heard(self, letters: str) -> None:
        if self._text is not None and self._letters < MOST_LETTERS:
            self._text.append(letters)
            self._letters += len(letters)

    def _end(self, name: str) -> None:
        element = _local(name)
        if not self._within:
            return
        if element == "Worksheet":
            self._within, self._is_over = False, True
        elif element == "Comment":
            self._beside = False
        elif element == "Data" and self._text is not None:
            self._found, self._text = _value(self._kind, "".join(self._text).strip()), None
        elif element == "Cell":
            self._end_cell(self._found or (self._formula if self._formula and not self._kind else ""))
        elif element == "Row":
            self.taken.append((self._row, self._cells))

    def _end_cell(self, text: str) -> None:
        if text and len(self._cells) < self._column <= self.columns:
            self._cells.extend([""] * (self._column - 1 - len(self._cells)))
            self._cells.append(text[:MOST_LETTERS])
        self._column = min(self._column + max(0, self._across), MAX_COLUMNS + 1)
        self._kind = ""


def _value(kind: str, text: str) -> str:
    if kind == "Number" and text:
        return number_text(text)
    if kind == "DateTime":
        try:
            moment = dt.datetime.fromisoformat(text)
        except ValueError:
            return text
        return as_text(moment)
    if kind == "Boolean":
        return str(text == "1")
    return text


def _parser() -> expat.XMLParserType:
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    parser.EntityDeclHandler = no_entities
    return parser
