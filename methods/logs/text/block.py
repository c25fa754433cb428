"""Lines of a log as one array of bytes, and where its cells begin and end.

Positions index ``Block.data``, which is padded at both ends so that fixed-size windows never leave it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.logs.text.characters import plain
from methods.logs.text.zero_bytes import without_zeros
from methods.quantities.arrays import Bools, Bytes, Ints

FRONT, BACK = 16, 64
LF, CR, TAB, BLANK, QUOTE = 10, 13, 9, 32, 34


@dataclass(slots=True)
class Block:
    """``starts`` and ``ends`` of n lines, line ends left out. ``raw`` is the text without padding, in ``encoding``."""

    raw: bytes
    first_line: int
    data: Bytes
    starts: Ints
    ends: Ints
    encoding: str

    @property
    def n(self) -> int:
        return len(self.starts)

    def text(self, i: int) -> str:
        """Line ``i``, counted from 0 in the block."""
        return self.cell(int(self.starts[i]), int(self.ends[i]))

    def cell(self, start: int, end: int) -> str:
        return plain(self.raw[start - FRONT : end - FRONT].decode(self.encoding, errors="replace"))

    def lines_of(self, positions: Ints) -> Ints:
        """The number (from 0) of the line each position lies in."""
        return np.searchsorted(self.starts, positions, side="right") - 1


@dataclass(slots=True)
class Grid:
    """Cells of the clean lines: ``rows`` are numbers of lines in the block; starts/ends are [len(rows), columns]."""

    rows: Ints
    starts: Ints
    ends: Ints

    def only(self, which: Bools) -> Grid:
        return Grid(self.rows[which], self.starts[which], self.ends[which])


def make_block(raw: bytes, first_line: int, encoding: str = "utf-8") -> Block:
    """``raw`` holds whole lines; the last one may lack its line feed."""
    raw = without_zeros(raw)
    data = np.frombuffer(b"\0" * FRONT + raw + b"\0" * BACK, dtype=np.uint8)
    feeds = np.flatnonzero(data == LF)
    if not raw.endswith(b"\n") and raw:
        feeds = np.append(feeds, FRONT + len(raw))
    starts = np.empty_like(feeds)
    if len(feeds):
        starts[0], starts[1:] = FRONT, feeds[:-1] + 1
    ends = feeds - ((data[feeds - 1] == CR) & (feeds > starts))
    return Block(raw, first_line, data, starts, ends, encoding)


def delimited_grid(block: Block, delimiter: str, width: int) -> Grid:
    """Lines that have exactly ``width`` cells between ``delimiter`` characters."""
    marks = np.flatnonzero(block.data == ord(delimiter))
    inner = width - 1
    rows, positions = _regular(block, marks, inner)
    starts = np.empty((len(rows), width), dtype=np.int64)
    ends = np.empty((len(rows), width), dtype=np.int64)
    starts[:, 0], ends[:, -1] = block.starts[rows], block.ends[rows]
    starts[:, 1:], ends[:, :-1] = positions + 1, positions
    return Grid(rows, starts, ends)


def blanks_grid(block: Block, width: int) -> Grid:
    """Lines that have exactly ``width`` words between runs of blanks and tabs."""
    data = block.data
    solid = (data > BLANK) | ((data != BLANK) & (data != TAB) & (data != LF) & (data != CR) & (data != 0))
    edges = np.flatnonzero(solid[1:] != solid[:-1]) + 1
    words, stops = edges[0::2], edges[1::2]
    rows, starts = _regular(block, words, width)
    if len(rows) == block.n:
        return Grid(rows, starts, stops.reshape(-1, width))
    first = np.searchsorted(words, block.starts[rows])
    return Grid(rows, starts, stops[first[:, None] + np.arange(width)])


def spans_grid(block: Block, spans: tuple[tuple[int, int], ...]) -> Grid:
    """Fixed columns. Short lines, lines with other than ASCII bytes (where bytes are not characters) and lines with
    quotation marks (which are part of a cell here) are left to the careful path."""
    foreign = np.flatnonzero((block.data > 127) | (block.data == QUOTE))
    clean = block.ends - block.starts > spans[-1][0]
    clean[block.lines_of(foreign)] = False
    rows = np.flatnonzero(clean)
    start, end = block.starts[rows, None], block.ends[rows, None]
    edges = np.array(spans, dtype=np.int64)
    return Grid(rows, np.minimum(start + edges[:, 0], end), np.minimum(start + edges[:, 1], end))


def _regular(block: Block, marks: Ints, per_line: int) -> tuple[Ints, Ints]:
    """Lines with ``per_line`` of ``marks``, and the marks' positions [lines, per_line]."""
    n = block.n
    if per_line == 0:
        return np.arange(n), np.empty((n, 0), dtype=np.int64)
    if len(marks) == n * per_line:
        table = marks.reshape(n, per_line)
        if bool(((table[:, 0] >= block.starts) & (table[:, -1] <= block.ends)).all()):
            return np.arange(n), table
    first = np.searchsorted(marks, block.starts)
    count = np.searchsorted(marks, block.ends) - first
    rows = np.flatnonzero(count == per_line)
    return rows, marks[first[rows, None] + np.arange(per_line)]


def trim(block: Block, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    """Without blanks around the cells, and without the quotation marks around those."""
    if len(starts) and block.data[starts].min() > QUOTE and block.data[ends - 1].min() > QUOTE:
        return starts, ends  # neither at any edge: both, and tabs, are smaller than what else a cell begins with
    starts, ends = _trim_blanks(block.data, starts, ends)
    quoted = (ends - starts >= 2) & (block.data[starts] == QUOTE) & (block.data[ends - 1] == QUOTE)
    if quoted.any():
        starts, ends = _trim_blanks(block.data, starts + quoted, ends - quoted)
    return starts, ends


def _trim_blanks(data: Bytes, starts: Ints, ends: Ints) -> tuple[Ints, Ints]:
    while True:
        lead = ((data[starts] == BLANK) | (data[starts] == TAB)) & (starts < ends)
        if not lead.any():
            break
        starts = starts + lead
    while True:
        tail = ((data[ends - 1] == BLANK) | (data[ends - 1] == TAB)) & (starts < ends)
        if not tail.any():
            return starts, ends
        ends = ends - tail


def without_loose_quotes(block: Block, grid: Grid) -> Grid:
    """Keeps the lines whose quotation marks only stand around whole cells."""
    quotes = np.flatnonzero(block.data == QUOTE)
    if not len(quotes):
        return grid
    per_line = np.bincount(block.lines_of(quotes), minlength=block.n)[grid.rows]
    starts, ends = _trim_blanks(block.data, grid.starts, grid.ends)
    wrapped = (ends - starts >= 2) & (block.data[starts] == QUOTE) & (block.data[ends - 1] == QUOTE)
    clean = per_line == 2 * wrapped.sum(axis=1)
    return grid.only(clean)


def without_foreign(block: Block, grid: Grid) -> Grid:
    """Keeps the lines of ASCII alone, where a byte of another character could be taken for a mark between cells."""
    foreign = np.zeros(block.n, dtype=bool)
    foreign[block.lines_of(np.flatnonzero(block.data > 127))] = True
    return grid.only(~foreign[grid.rows])


def texts_of(block: Block, grid: Grid, at: int) -> list[str]:
    """The cells of column ``at``, one for each line of the grid, without blanks around them."""
    starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
    return [block.cell(start, end) for start, end in zip(starts.tolist(), ends.tolist(), strict=True)]
