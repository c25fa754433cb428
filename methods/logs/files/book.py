"""What every kind of workbook gives: sheets by name, and their rows as texts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Protocol

from methods.logs.sketch import Cells, is_number

MAX_ROWS, MAX_COLUMNS = 1_048_576, 256
#: No cell of a workbook holds more letters (ECMA-376); of a longer one the rest is not kept.
MOST_LETTERS = 32_767
#: More sheets, or tables of a page, than this are no logs.
MOST_SHEETS = 200


#: Where a cell has another line.
BREAK = "\x1e"


def one_line(text: str) -> str:
    """The lines of a cell beside each other; numbers below each other are no number, and stay apart."""
    lines = [line.strip() for line in text.split(BREAK) if line.strip()]
    return (" / " if len(lines) > 1 and all(map(is_number, lines)) else " ").join(lines)


@dataclass(frozen=True, slots=True)
class BookFile:
    """A workbook that was found: ``kind`` is the reader of its layouts, ``size`` that of ``stream`` in bytes."""

    kind: str
    stream: IO[bytes]
    size: int


class Book(Protocol):
    """An opened workbook. ``sheets`` says of each by its title whether it is hidden; ``late``: days count from 1904.

    A cell of a formula without its result is given as the formula: "=" and what stands behind it.
    """

    @property
    def sheets(self) -> Mapping[str, bool]: ...

    @property
    def late(self) -> bool: ...

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        """Row numbers, from 1, and the texts of the first ``columns`` cells; rows that are not there are left out."""
        ...

    def close(self) -> None: ...
