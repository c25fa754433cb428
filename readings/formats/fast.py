"""A block of lines becomes rows: clean lines all at once, the others one by one with care."""

from __future__ import annotations

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from readings.flags import Flag
from readings.formats import decode
from readings.formats.block import (
    Block,
    Bools,
    Grid,
    blanks_grid,
    delimited_grid,
    spans_grid,
    trim,
    without_loose_quotes,
)
from readings.formats.moments import EPOCH_MS, FIRST_MS, LAST_MS, MS_PER_DAY, NUMERIC, SERIAL_DAY_0, StampFormat
from readings.formats.plan import Plan
from readings.formats.rows import ProblemLog, RowReader
from readings.formats.types import Chunk, Floats, Ints, Layout, Shorts

Split = Callable[[str], list[str]]


class OpenQuote(ValueError):
    """A quotation mark is not closed on its line."""


def splitter(layout: Layout) -> Split:
    """How one line of text becomes cells; raises OpenQuote."""
    if layout.reader == "fixed":
        spans = layout.spans
        return lambda text: [text[start:end].strip() for start, end in spans] + [text[spans[-1][1] :].strip()]
    if layout.delimiter == " ":
        return lambda text: [_unquoted(word) for word in text.split()]
    delimiter = layout.delimiter
    return lambda text: split_line(text, delimiter)


def _unquoted(word: str) -> str:
    return word[1:-1] if len(word) >= 2 and word[0] == word[-1] == '"' else word


def split_line(text: str, delimiter: str) -> list[str]:
    if '"' not in text:
        return text.split(delimiter)
    try:
        return next(csv.reader([text], delimiter=delimiter, skipinitialspace=True, strict=True), [])
    except csv.Error as error:
        if "expected after" in str(error):  # text behind a closing quotation mark: only blanks are harmless
            return next(csv.reader([text], delimiter=delimiter, skipinitialspace=True), [])
        raise OpenQuote(text) from error


@dataclass(slots=True)
class _Rows:
    """What a block becomes, one place per line; ``keep`` marks the lines that are rows."""

    stamps: Ints
    values: Floats
    flags: Shorts
    keep: Bools
    done: Bools


class BlockReader:
    """Reads the blocks of one text file in order."""

    def __init__(self, plan: Plan, log: ProblemLog) -> None:
        self.plan, self.log = plan, log
        self.layout = plan.layout
        self.rows = RowReader(plan, log)
        self.split = splitter(plan.layout)
        self.missing = np.array(sorted(plan.cells.missing_numbers))

    def read(self, block: Block, *, is_last: bool = False) -> Chunk:
        n, k = block.n, self.plan.k
        out = _Rows(
            np.zeros(n, dtype=np.int64),
            np.full((n, k), math.nan),
            np.zeros((n, k), dtype=np.int16),
            np.zeros(n, dtype=bool),
            np.zeros(n, dtype=bool),
        )
        if n:
            grid = self._grid(block)
            if len(grid.rows):
                self._read_grid(block, grid, out)
        for i in np.flatnonzero(~out.done):
            self._read_line(block, int(i), out, is_last=is_last)
        kept = np.flatnonzero(out.keep)
        if len(kept) == n:
            return Chunk(np.arange(n) + block.first_line, out.stamps, out.values, out.flags)
        return Chunk(kept + block.first_line, out.stamps[kept], out.values[kept], out.flags[kept])

    def _grid(self, block: Block) -> Grid:
        if self.layout.reader == "fixed":
            return spans_grid(block, self.layout.spans)
        if self.layout.delimiter == " ":
            return without_loose_quotes(block, blanks_grid(block, self.plan.width))
        return without_loose_quotes(block, delimited_grid(block, self.layout.delimiter, self.plan.width))

    # --- clean lines --------------------------------------------------------------------------------------------------

    def _read_grid(self, block: Block, grid: Grid, out: _Rows) -> None:
        stamps, good = self._stamps(block, grid)
        if self.plan.is_long:
            self._long(block, grid, good, out)
        else:
            self._wide(block, grid, good, out)
        rows = grid.rows[good]
        out.stamps[rows] = stamps[good]
        out.keep[rows] = True
        out.done[rows] = True
        self.log.lines += len(rows)

    def _stamps(self, block: Block, grid: Grid) -> tuple[Ints, Bools]:
        total, good = None, None
        for at, form in zip(self.plan.stamp_at, self.plan.stamp, strict=True):
            starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
            ms, valid = (
                self._counts(block, starts, ends, form)
                if form.text in NUMERIC
                else decode.stamps(block, starts, ends, form)
            )
            total = ms if total is None else total + ms
            good = valid if good is None else good & valid
        assert total is not None and good is not None
        return total, good

    def _counts(self, block: Block, starts: Ints, ends: Ints, form: StampFormat) -> tuple[Ints, Bools]:
        count, valid = decode.numbers(block, starts, ends, ".")
        if form.text in EPOCH_MS:
            ms = np.rint(count * EPOCH_MS[form.text])
        else:
            ms = np.rint((count + SERIAL_DAY_0[form.text]) * MS_PER_DAY)
        valid &= (ms >= FIRST_MS) & (ms < LAST_MS)
        return np.where(valid, ms, 0).astype(np.int64), valid

    def _wide(self, block: Block, grid: Grid, good: Bools, out: _Rows) -> None:
        for k, column in self.plan.values:
            starts, ends = trim(block, grid.starts[:, column.index], grid.ends[:, column.index])
            values, flags, known = self._numbers(block, starts, ends)
            for i in np.flatnonzero(good & ~known):
                cell = self.rows.cell(k, self._text(block, starts[i], ends[i]))
                values[i], flags[i] = cell.value, cell.flag
                good[i] = not cell.code
            out.values[grid.rows, k], out.flags[grid.rows, k] = values, flags
        for index, numbers in self.plan.unit_beside.items():
            starts, ends = trim(block, grid.starts[:, index], grid.ends[:, index])
            for i in np.flatnonzero(good):
                text = self._text(block, starts[i], ends[i])
                good[i] = all(self.rows.unit_agrees(k, text) for k in numbers)

    def _long(self, block: Block, grid: Grid, good: Bools, out: _Rows) -> None:
        index = self.plan.values[0][1].index
        starts, ends = trim(block, grid.starts[:, index], grid.ends[:, index])
        values, flags, known = self._numbers(block, starts, ends)
        number = self._long_numbers(block, grid)
        left_out = good & (number == -1)
        out.done[grid.rows[left_out]] = True
        good &= number >= 0
        for i in np.flatnonzero(good & ~known):
            cell = self.rows.cell(int(number[i]), self._text(block, starts[i], ends[i]))
            values[i], flags[i] = cell.value, cell.flag
            good[i] = not cell.code
        rows = grid.rows[good]
        out.values[rows, number[good]], out.flags[rows, number[good]] = values[good], flags[good]

    def _long_numbers(self, block: Block, grid: Grid) -> Ints:
        """Which VALUE column each line belongs to; -1 left out, -2 unknown."""
        pieces = []
        for at in (self.plan.parameter_at, self.plan.unit_at):
            if at < 0:
                pieces.append([""] * len(grid.rows))
                continue
            starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
            pieces.append([self._text(block, s, e) for s, e in zip(starts.tolist(), ends.tolist(), strict=True)])
        find = self.rows.long_number
        found = [find(parameter, unit) for parameter, unit in zip(*pieces, strict=True)]
        return np.array([-2 if number is None else number for number in found], dtype=np.int64)

    def _numbers(self, block: Block, starts: Ints, ends: Ints) -> tuple[Floats, Shorts, Bools]:
        """Values and flags of plain numbers, "<" and ">" before them, missing-value numbers and empty cells."""
        lead = block.data[starts]
        less, more = lead == ord("<"), lead == ord(">")
        signed = less | more
        values, known = decode.numbers(block, starts + signed, ends, self.layout.decimal)
        empty = starts >= ends
        values[empty | ~known] = math.nan
        flags = (less * np.int16(Flag.BELOW_DETECTION) + more * np.int16(Flag.OVER_RANGE)).astype(np.int16)
        for code in self.missing:
            hit = (values == code) & ~signed
            if hit.any():
                values[hit], flags[hit] = math.nan, Flag.SENSOR_ERROR
        flags[empty] = 0
        return values, flags, known | empty

    def _text(self, block: Block, start: int, end: int) -> str:
        from readings.formats.block import FRONT

        return block.raw[start - FRONT : end - FRONT].decode(self.layout.encoding, errors="replace")

    # --- the other lines ----------------------------------------------------------------------------------------------

    def _read_line(self, block: Block, i: int, out: _Rows, *, is_last: bool) -> None:
        if block.starts[i] == block.ends[i]:
            return
        line, text = block.first_line + i, block.text(i, self.layout.encoding)
        cut_off = is_last and i == block.n - 1 and not block.raw.endswith(b"\n")
        try:
            cells = self.split(text)
        except OpenQuote:
            self._lost(line, text, "truncated_line" if cut_off else "bad_quotes")
            return
        if cut_off and 1 < len(cells) < self.plan.width:
            self._lost(line, text, "truncated_line")
            return
        row = self.rows.read(line, cells)
        if row is not None:
            out.stamps[i], out.values[i], out.flags[i], out.keep[i] = row.stamp, row.values, row.flags, True

    def _lost(self, line: int, text: str, code: str) -> None:
        self.log.lines += 1
        self.log.bad_lines += 1
        self.log.add(line, "", text, code)
