"""A head that comes again below: the same one is part of the page, another one begins another table."""

from __future__ import annotations

import re
from collections.abc import Sequence

from methods.logs.layouts.compiled_layout import CompiledLayout
from methods.logs.sketch import has_moment, is_number
from methods.logs.types import Column
from methods.logs.values.cells import LONGEST
from methods.logs.words import vocabulary
from methods.logs.words.substance_words import parameter_of, tokens
from methods.logs.words.unit_spellings import read_unit

_MARK = re.compile(r"[:=]")
#: Not devices and places: loggers print those again whenever they start.
_BLOCK_OF = vocabulary.word_set("sensor probe channel sonde kanal fuhler capteur canal sonda sensore canale voeler")


def words_of(text: str) -> str:
    """As names are compared."""
    return " ".join(text.split()).casefold()


class KnownHead:
    """The head of the file. Where its units stand in a line of their own, they are in brackets behind the names."""

    def __init__(self, plan: CompiledLayout) -> None:
        layout = plan.layout
        self.names = [words_of(name) for name in plan.names] if layout.header_line else []
        self.has_units_line = layout.units_line > 0
        self.values = {column.index: column for _, column in plan.values} if not plan.is_long else {}

    def is_repeated_by(self, cells: Sequence[str]) -> bool:
        """Whether ``cells`` are the names, or the units, of this very head."""
        if not self.names or any(cell.strip() for cell in cells[len(self.names) :]):
            return False
        pairs = [(words_of(c), name) for c, name in zip(cells, self.names, strict=False) if c.strip()]
        if len(pairs) > 1 and all(self._is_name(cell, name) for cell, name in pairs):
            return True
        return self.has_units_line and all(self._units(cells) or [False])

    def has_other_units(self, cells: Sequence[str]) -> bool:
        """Whether ``cells`` are a line of units, and not of those that the values are read in."""
        return not all(self._units(cells))

    def _is_name(self, cell: str, name: str) -> bool:
        """All of it, or what its first line says: a statistic, a channel, or the unit may stand in another line."""
        if self.has_units_line:
            name = _bare(name)
            cell = _bare(cell) if name != cell else cell
        rest = name.removeprefix(cell)
        return not rest or (rest[0] == " " and rest != name and not vocabulary.heading(rest).unit)

    def _units(self, cells: Sequence[str]) -> list[bool]:
        """Of a line of units, for each of them whether it is that of its column; empty for any other line."""
        said = [(column, cells[at].strip()) for at, column in self.values.items() if at < len(cells)]
        said = [(column, text) for column, text in said if text]
        if not all(len(text) <= LONGEST and read_unit(text, column.parameter) for column, text in said):
            return []
        return [_is_unit_of(column, text) for column, text in said]


def _bare(name: str) -> str:
    return name.rpartition(" [")[0] if name.endswith("]") and " [" in name else name


def _is_unit_of(column: Column, text: str) -> bool:
    """What the head itself said holds, whatever a person made of it."""
    in_head = words_of(column.name).endswith(f"[{words_of(text.strip('[]() '))}]")
    return in_head or column.unit in (None, read_unit(text, column.parameter))


def is_head(cells: Sequence[str]) -> bool:
    """Whether ``cells`` name columns, in our words: no number and no moment, and a time beside something else, or two
    parameters."""
    filled = [cell for cell in cells if cell.strip()]
    if len(filled) < 2 or any(len(cell) > LONGEST or is_number(cell) or has_moment(cell) for cell in filled):
        return False
    known = [vocabulary.heading(cell) for cell in filled]
    parameters = sum(named.parameter is not None for named in known)
    return any(named.time_word for named in known) or parameters > 1


def is_block_head(cells: Sequence[str]) -> bool:
    """Whether ``cells`` say of what or of which sensor the lines below are, and nothing else: “Sensor; Temperature”,
    “Channel: 2”, or a parameter alone."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    if len(filled) == 1:
        filled = [part.strip() for part in _MARK.split(filled[0].strip("[]#= "), maxsplit=1) if part.strip()]
    if not 1 <= len(filled) <= 2 or any(len(cell) > LONGEST for cell in filled):
        return False
    first = vocabulary.heading(filled[0])
    if len(filled) == 1:
        return parameter_of(filled[0]) is not None
    names = set(tokens(filled[0].rstrip(":=")))
    return bool(names) and (names <= _BLOCK_OF or first.long_word == "parameter")
