"""A block of lines becomes rows: clean lines all at once, the others one by one with care."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from methods.logs.layouts.compiled_layout import CompiledLayout
from methods.logs.messages import problem
from methods.logs.row_reader import ProblemLog, RowReader
from methods.logs.stamps.vector_stamps import stamps_of
from methods.logs.text.block import Block, Grid, texts_of, trim
from methods.logs.text.cutting import Uncuttable, grid_of, splitter
from methods.logs.text.last_line import Cut, Ending
from methods.logs.text.zero_bytes import problem_code
from methods.logs.types import Chunk, LogProblem
from methods.logs.values.cells import sign_flag
from methods.logs.values.vector_numbers import numbers
from methods.logs.words.vocabulary import heading
from methods.quantities.arrays import Bools, Floats, Ints, Shorts
from methods.quantities.flags import Flag

MOST_NEW_KEYS = 50


@dataclass(slots=True)
class _Rows:
    """What a block becomes, one place per line; ``keep`` marks the lines that are rows, ``passed`` those that count as
    lines and are left out on purpose."""

    stamps: Ints
    values: Floats
    flags: Shorts
    keep: Bools
    done: Bools
    passed: Bools


class BlockReader:
    """Reads the blocks of one text file in order."""

    def __init__(self, plan: CompiledLayout, log: ProblemLog) -> None:
        self.plan, self.log = plan, log
        self.layout = plan.layout
        self.rows = RowReader(plan, log)
        self.split = splitter(plan.layout)
        self.ending = Ending(plan, self.split)
        self.new_keys: dict[str, int] = {}
        self.missing = np.array(sorted(plan.cells.missing_numbers))
        self.fills = {k: sorted((*c.fills, *c.no_readings)) for k, c in plan.values if c.fills or c.no_readings}

    def read(self, block: Block, *, is_last: bool = False) -> Chunk:
        if self.rows.stopped:
            self.rows.below += _filled(block)
        n, k = 0 if self.rows.stopped else block.n, self.plan.k
        out = _Rows(
            np.zeros(n, dtype=np.int64),
            np.full((n, k), math.nan),
            np.zeros((n, k), dtype=np.int16),
            np.zeros(n, dtype=bool),
            np.zeros(n, dtype=bool),
            np.zeros(n, dtype=bool),
        )
        cut = self.ending.see(block, is_last=is_last) if n else None
        if cut is not None:
            self._lost_end(block, cut, out)
        if n:
            clean, grid = self.cut(block)
            if cut is not None:
                grid = grid.only(grid.rows < n - 1)
            if len(grid.rows):
                self._read_grid(clean, grid, out)
        for i in np.flatnonzero(~out.done):
            self._read_line(block, int(i), out, is_last=is_last)
            if self.rows.stopped:
                self.log.lines -= int((out.keep[i:] | out.passed[i:]).sum())
                self.rows.below += _filled(block, int(i))
                out.keep[i:] = False
                break
        kept = np.flatnonzero(out.keep)
        if len(kept) == n:
            return Chunk(np.arange(n) + block.first_line, out.stamps, out.values, out.flags)
        return Chunk(kept + block.first_line, out.stamps[kept], out.values[kept], out.flags[kept])

    def closing(self) -> Iterator[LogProblem]:
        """Columns of formulas; of JSON lines, keys that the layout does not know, at the first line that has them."""
        yield from self.rows.closing()
        for key, line in list(self.new_keys.items())[:MOST_NEW_KEYS]:
            if heading(key).parameter and not heading(key).other:
                yield problem(line, "", key, "new_key")

    def cut(self, block: Block) -> tuple[Block, Grid]:
        """The clean lines of ``block``, and the block they are in; what is not among them is read with care."""
        clean, grid = grid_of(self.layout, self.plan.width, block, self.new_keys)
        if self.layout.dates_below:  # what a line means depends on the one above
            grid = grid.only(np.zeros(len(grid.rows), dtype=bool))
        return clean, grid

    # --- clean lines --------------------------------------------------------------------------------------------------

    def _read_grid(self, block: Block, grid: Grid, out: _Rows) -> None:
        grid = self._own_lines(block, grid, out)
        stamps, good = stamps_of(block, grid, self.plan.stamp_at, self.plan.stamp)
        if self.plan.is_long:
            self._long(block, grid, good, out)
        else:
            self._wide(block, grid, good, out)
        self._line_columns(block, grid, out)
        rows = grid.rows[good]
        out.stamps[rows] = stamps[good]
        out.keep[rows] = True
        out.done[rows] = True
        self.log.lines += len(rows)

    def _own_lines(self, block: Block, grid: Grid, out: _Rows) -> Grid:
        """Without the lines of other sources."""
        for at, kept in self.plan.sources.items():
            own = np.array([text in kept for text in texts_of(block, grid, at)], dtype=bool)
            out.done[grid.rows[~own]] = True
            grid = grid.only(own)
        return grid

    def _line_columns(self, block: Block, grid: Grid, out: _Rows) -> None:
        """What a status and a sign say of values; lines that are read with care are written over."""
        for at, (good, meant) in self.plan.states.items():
            bad = grid.rows[np.array([text not in good for text in texts_of(block, grid, at)], dtype=bool)]
            for k in meant:
                out.flags[bad[~np.isnan(out.values[bad, k])], k] |= np.int16(Flag.SENSOR_ERROR)
        for at, k in self.plan.signs.items():
            flags = np.array([sign_flag(text) for text in texts_of(block, grid, at)], dtype=np.int16)
            out.flags[grid.rows, k] |= np.where(np.isnan(out.values[grid.rows, k]), np.int16(0), flags)

    def _wide(self, block: Block, grid: Grid, good: Bools, out: _Rows) -> None:
        for k, column in self.plan.values:
            starts, ends = trim(block, grid.starts[:, column.index], grid.ends[:, column.index])
            values, flags, known = self._numbers(block, starts, ends)
            self._see_fills(k, values, flags, known)
            if column.unit_in_cells:
                known &= np.isnan(values)
            if column.index in self.layout.whole:
                known &= ~_grouped(block, starts, ends)
            for i in np.flatnonzero(good & ~known):
                cell = self.rows.cell(k, block.cell(starts[i], ends[i]))
                values[i], flags[i] = cell.value, cell.flag
                good[i] = not cell.code
            out.values[grid.rows, k], out.flags[grid.rows, k] = values, flags
        for index, beside in self.plan.unit_beside.items():
            starts, ends = trim(block, grid.starts[:, index], grid.ends[:, index])
            for i in np.flatnonzero(good):
                text = block.cell(starts[i], ends[i])
                good[i] = all(self.rows.unit_agrees(k, text) for k in beside)

    def _long(self, block: Block, grid: Grid, good: Bools, out: _Rows) -> None:
        index = self.plan.values[0][1].index
        starts, ends = trim(block, grid.starts[:, index], grid.ends[:, index])
        values, flags, known = self._numbers(block, starts, ends)
        number = self._long_numbers(block, grid)
        for k in self.fills:
            mine = number == k
            self._see_fills(k, np.where(mine, values, math.nan), flags, known)
        left_out = good & (number == -1)
        out.done[grid.rows[left_out]] = out.passed[grid.rows[left_out]] = True
        self.log.lines += int(left_out.sum())
        good &= number >= 0
        for i in np.flatnonzero(good & ~known):
            cell = self.rows.cell(int(number[i]), block.cell(starts[i], ends[i]))
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
            pieces.append(texts_of(block, grid, at))
        find = self.rows.long_number
        numbers = [find(parameter, unit) for parameter, unit in zip(*pieces, strict=True)]
        return np.array([-2 if number is None else number for number in numbers], dtype=np.int64)

    def _numbers(self, block: Block, starts: Ints, ends: Ints) -> tuple[Floats, Shorts, Bools]:
        """Values and flags of plain numbers, "<" and ">" before them, missing-value numbers and empty cells."""
        lead = block.data[starts]
        less, more = lead == ord("<"), lead == ord(">")
        signed = less | more
        values, known = numbers(block, starts + signed, ends, self.layout.decimal)
        empty = starts >= ends
        values[empty | ~known] = math.nan
        flags = (less * np.int16(Flag.BELOW_DETECTION) + more * np.int16(Flag.OVER_RANGE)).astype(np.int16)
        for code in self.missing:
            hit = (values == code) & ~signed
            if hit.any():
                values[hit], flags[hit] = math.nan, Flag.SENSOR_ERROR
        flags[empty] = 0
        return values, flags, known | empty

    def _see_fills(self, k: int, values: Floats, flags: Shorts, known: Bools) -> None:
        """Takes numbers that can hardly be readings of column ``k`` for not ``known``: they are read with care."""
        if not (fills := self.fills.get(k)):
            return
        low = [number for number in fills if number < 0]
        high = fills[len(low) :]
        far = (values >= high[0]) if high else np.zeros(len(values), dtype=bool)
        if low:
            far |= values <= low[-1]
        if far.any():
            at = np.flatnonzero(far & (flags == 0))
            known[at[np.isin(values[at], fills)]] = False

    # --- the other lines ----------------------------------------------------------------------------------------------

    def _read_line(self, block: Block, i: int, out: _Rows, *, is_last: bool) -> None:
        if block.starts[i] == block.ends[i]:
            return
        line, text = block.first_line + i, block.text(i)
        if code := problem_code(text):
            self._zeros(line, code)
            return
        cut_off = is_last and i == block.n - 1 and not block.raw.endswith(b"\n")
        try:
            cells = self.split(text)
        except Uncuttable as error:
            self._lost(line, error.said or text, "truncated_line" if cut_off else error.code)
            return
        row = self.rows.read(line, cells, cut_off=cut_off)
        if row is not None:
            out.stamps[i], out.values[i], out.flags[i], out.keep[i] = row.stamp, row.values, row.flags, True

    def _lost_end(self, block: Block, cut: Cut, out: _Rows) -> None:
        out.done[-1] = True
        self.log.lines += 1
        self.log.lose_line()
        line, column = block.first_line + block.n - 1, self.ending.column
        self.log.add(line, column, cut.cell, "truncated_value", found=cut.found, usual=cut.usual)

    def _zeros(self, line: int, code: str) -> None:
        torn = code == "torn_line"
        self.log.lines += torn
        self.log.bad_lines += torn
        self.log.lost += torn
        self.log.add(line, "", "", code)

    def _lost(self, line: int, text: str, code: str) -> None:
        self.log.lines += 1
        self.log.lose_line()
        self.log.add(line, "", text, code)


def _filled(block: Block, first: int = 0) -> int:
    """Lines from ``first`` on that are not blank."""
    return int((block.starts[first:] < block.ends[first:]).sum())


def _grouped(block: Block, starts: Ints, ends: Ints) -> Bools:
    """Cells like "1.012" and "12.345": a point before the last three digits, and little in front of it."""
    lengths = ends - starts
    pointed: Bools = block.data[np.maximum(ends - 4, 0)] == ord(".")
    return pointed & (lengths >= 5) & (lengths <= 7)
