"""How much a workbook says of itself, counted while it is scanned and before a library makes objects of it.

A mark of four letters may become an object of a thousand bytes, or be looked up in a list as long as itself. What is
counted here is far beyond what any workbook with a log in it holds, and far below what hurts.
"""

from __future__ import annotations

from typing import IO, Any, NoReturn
from xml.parsers import expat

from defusedxml.common import EntitiesForbidden

from methods.logs.files.sources import refuse
from methods.logs.types import Unreadable

#: Formats of cells (a spreadsheet allows 65 490), relations of parts, and whatever else a part holds; its depth.
MOST_ELEMENTS, DEEPEST = 200_000, 64
#: Sheets that a workbook may name; far fewer are looked at.
MOST_NAMED = 1_000
#: Texts that cells share: two for each row of a full sheet.
MOST_TEXTS = 2_100_000
#: Cells of one sheet: every row of it, with fifty columns.
MOST_CELLS = 52_500_000
#: Columns of a sheet, as the common spreadsheets have them.
MOST_ACROSS = 16_384
PIECE = 1 << 16


class CountedPart:
    """``see`` pieces of one part, in order. Raises Unreadable where it holds too much; damage is left to its reader."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.elements = self.depth = self.sheets = 0
        self.is_damaged = False
        self.parser = expat.ParserCreate()
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end

    def see(self, piece: bytes) -> None:
        if self.is_damaged:
            return
        try:
            self.parser.Parse(piece, False)
        except expat.ExpatError:
            self.is_damaged = True

    def _start(self, name: str, said: dict[str, str]) -> None:
        self.elements += 1
        self.depth += 1
        if name.rpartition(":")[2] == "sheet":
            self.sheets += 1
        if self.elements > MOST_ELEMENTS or self.depth > DEEPEST or self.sheets > MOST_NAMED:
            raise holds_too_much(self.name)

    def _end(self, name: str) -> None:
        self.depth -= 1


def holds_too_much(where: str) -> Unreadable:
    return refuse(
        "too_much",
        f"The workbook holds far more in “{where[:60]}” than one with a log does. It was not read: save only the sheet "
        "with the readings, as XLSX or as text (CSV).",
    )


def no_entities(name: str, *said: Any) -> NoReturn:
    raise EntitiesForbidden(name, None, None, None, None, None)


def shared_texts(member: IO[bytes], name: str) -> list[str]:
    """The texts that cells share, without the way they are to be spoken. Raises Unreadable, ExpatError for damage, and
    whatever the archive raises."""
    reader = _Texts(name)
    while piece := member.read(PIECE):
        reader.parser.Parse(piece, False)
    reader.parser.Parse(b"", True)
    return reader.texts


class _Texts:
    def __init__(self, name: str) -> None:
        self.name = name
        self.texts: list[str] = []
        self.parts: list[str] = []
        self.is_inside = self.is_spoken = False
        self.depth = 0
        self.parser = expat.ParserCreate()
        self.parser.buffer_text = True
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._heard
        self.parser.EntityDeclHandler = no_entities

    def _start(self, name: str, said: Any) -> None:
        self.depth += 1
        element = name.rpartition(":")[2]
        if element == "si":
            self.parts = []
            if len(self.texts) >= MOST_TEXTS:
                raise holds_too_much(self.name)
        elif element == "t":
            self.is_inside = not self.is_spoken
        elif element == "rPh":
            self.is_spoken = True
        if self.depth > DEEPEST:
            raise holds_too_much(self.name)

    def _heard(self, letters: str) -> None:
        if self.is_inside:
            self.parts.append(letters)

    def _end(self, name: str) -> None:
        self.depth -= 1
        element = name.rpartition(":")[2]
        if element == "t":
            self.is_inside = False
        elif element == "rPh":
            self.is_spoken = False
        elif element == "si":
            self.texts.append("".join(self.parts).replace("x005F_", ""))  # an underscore that stands for itself
