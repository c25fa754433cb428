"""The last line of a file that ends without a line end: whole, or cut off inside its last cell?

Many loggers leave the last line end out, so its absence alone tells nothing. A cell tells if it is shorter than all
those above it have been, in a column whose cells are of one form throughout.
"""

from __future__ import annotations

import re
from collections import deque
from dataclasses import dataclass

from methods.logs.layouts.compiled_layout import CompiledLayout
from methods.logs.text.block import Block
from methods.logs.text.cutting import Split, Uncuttable
from methods.logs.types import ColumnRole

#: Lines before the last one that are looked at, and how many of them must agree: of numbers printed without zeros at
#: their end one in ten is shorter, so that of twenty agreeing lines and a shorter one hardly any are of such a file.
LOOKED_AT, FEWEST = 200, 20
#: What is cut off of an uncertainty leaves the value before it whole.
_UNCERTAIN = re.compile(r"±|\+/-")
_NUMBER = re.compile(r"[<>]?\s*[+-]?[0-9 ']*(?:[.,](?P<places>[0-9]*))?(?:\s*(?:±|\+/-).*)?")


@dataclass(frozen=True, slots=True)
class Cut:
    """A last cell that is shorter than all before it: ``found`` letters instead of ``usual`` ones (decimals, in a
    number)."""

    cell: str
    found: int
    usual: int


class Ending:
    """Sees every block of a file on its way, and judges the last line of the last one."""

    def __init__(self, plan: CompiledLayout, split: Split) -> None:
        self.split, self.width, self.missing = split, plan.width, plan.cells.missing_numbers
        at = plan.width - 1
        self.column = plan.names[at]
        self.is_number = any(
            c.index == at and c.role in (ColumnRole.VALUE, ColumnRole.HOURLY) for c in plan.layout.columns
        )
        self.fixed = plan.layout.reader == "fixed"
        # One JSON object is whole or not JSON; what follows the readings may be as short as it likes.
        self.telling = plan.layout.reader != "jsonl" and (self.is_number or at in plan.stamp_at)
        self._before: deque[str] = deque(maxlen=LOOKED_AT)

    def see(self, block: Block, *, is_last: bool) -> Cut | None:
        """What is cut off, if the file ends inside the last cell of ``block``."""
        if not self.telling or not block.n:
            return None
        open_end = is_last and not block.raw.endswith(b"\n")
        stop = block.n - 1 if open_end else block.n
        self._before.extend(block.text(i) for i in range(max(0, stop - LOOKED_AT), stop))
        return self._judged(block.text(stop)) if open_end else None

    def _judged(self, line: str) -> Cut | None:
        if _UNCERTAIN.search(self._last_cell(line) or ""):
            return None
        measures = [self._line_length, self._length] if self.fixed else [self._length]
        for measure in measures:
            before = [length for text in self._before if (length := measure(text)) is not None]
            length = measure(line)
            if length is not None and len(before) >= FEWEST and len(set(before)) == 1:
                return Cut(self._last_cell(line) or "", length, before[0]) if length < before[0] else None
        return None

    def _last_cell(self, line: str) -> str | None:
        """None where the line does not reach the last column."""
        try:
            cells = self.split(line)
        except Uncuttable:
            return None
        return cells[-1].strip() if len(cells) == self.width else None

    def _line_length(self, line: str) -> int | None:
        """In fixed columns numbers end at one place, whatever their size."""
        return None if self._last_cell(line) is None else len(line.rstrip())

    def _length(self, line: str) -> int | None:
        cell = self._last_cell(line)
        if cell is None or not self.is_number:
            return None if cell is None else len(cell)
        number = _NUMBER.fullmatch(cell)
        if number is None or (cell[-1:].isdigit() and _value(cell) in self.missing):
            return None
        return len(number["places"] or "")


def _value(cell: str) -> float | None:
    try:
        return float(cell.replace(",", "."))
    except ValueError:
        return None
