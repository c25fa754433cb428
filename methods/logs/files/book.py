"""What every kind of workbook gives: sheets by name, and their rows as texts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import IO, Protocol

from methods.logs.sketch import Cells

MAX_ROWS, MAX_COLUMNS = 1_048_576, 256
#: No cell of a workbook holds more letters (ECMA-376); of a longer one the rest is not kept.
MOST_LETTERS = 32_767
#: More sheets, or tables of a page, than this are no logs.
MOST_SHEETS = 200


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
