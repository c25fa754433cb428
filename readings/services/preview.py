"""The first lines of a file, as cells and as they would be read: for looking, nothing is stored."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice
from pathlib import Path

from methods import logs
from methods.logs.apart import LOOKING
from methods.logs.bounded import within
from methods.logs.files.sheets import open_workbook, sheet_rows
from methods.logs.files.sources import open_source
from methods.logs.text.cutting import Uncuttable, splitter
from methods.logs.text.lines import blocks
from methods.logs.types import WORKBOOKS, Layout, LogProblem, Unreadable

#: Lines that are read for a look: a fraction of a second each time, and all of most logs. Workbooks and JSON are slow.
LINES, SLOW_LINES = 5_000, 500
#: Lines shown as cells, and how many of them stand above the header.
SHOWN, ABOVE = 20, 3

Rows = list[tuple[int, list[str]]]


@dataclass(frozen=True)
class Trial:
    """What the first lines become. ``refused`` says why nothing can be read at all.

    ``stamps`` pairs lines with stamps (ms on the logger's clock); ``whole``: these were all the lines of the file.
    """

    refused: tuple[LogProblem, ...] = ()
    stamps: dict[int, int] = field(default_factory=dict)
    first: int | None = None
    last: int | None = None
    problems: tuple[LogProblem, ...] = ()
    whole: bool = False

    @property
    def rows(self) -> int:
        return len(self.stamps)


def try_out(path: Path, layout: Layout) -> Trial:
    """Read the first lines with ``layout``. Never raises for what is in the file."""
    most = SLOW_LINES if layout.reader in ("jsonl", *WORKBOOKS) else LINES
    chunks = logs.read(path, layout, chunk_rows=most)
    try:
        first, following = next(chunks), next(chunks, None)
    except Unreadable as error:
        return Trial(refused=error.problems)
    finally:
        del chunks  # the file is closed with it
    whole = following is None or not len(following.lines)
    problems = [*first.problems, *(following.problems if whole and following else [])]
    return Trial(
        stamps=dict(zip(first.lines.tolist(), first.stamps.tolist(), strict=True)),
        first=int(first.stamps.min()) if len(first.stamps) else None,
        last=int(first.stamps.max()) if len(first.stamps) else None,
        problems=tuple(problems),
        whole=whole,
    )


def first_rows(path: Path, layout: Layout) -> Rows:
    """The lines where the readings begin, with their numbers, as cells. Empty for what cannot be opened."""
    top = min(layout.header_line or layout.first_data_line, layout.first_data_line)
    start = max(1, top - ABOVE)
    try:
        return within(path, lambda: list(islice(_cells(path, layout, start), SHOWN)), LOOKING)
    except Unreadable:
        return []


def _cells(path: Path, layout: Layout, start: int) -> Iterator[tuple[int, list[str]]]:
    with open_source(path) as source:
        if source.book is not None:
            with open_workbook(source.book) as book:
                yield from islice(enumerate(sheet_rows(book, layout.sheet), 1), start - 1, None)
            return
        split = splitter(layout)
        for block, _ in blocks(source, layout.encoding, lines=SHOWN, first_line=start):
            for i in range(block.n):
                text = block.text(i)
                try:
                    yield block.first_line + i, split(text)
                except Uncuttable:
                    yield block.first_line + i, [text]
