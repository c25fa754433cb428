"""The careful path: one line's cells become a row, a problem or nothing."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from methods.logs import messages
from methods.logs.head_again import KnownHead, is_block_head, is_head
from methods.logs.layouts.compiled_layout import CompiledLayout, long_key
from methods.logs.stamps.date_order import swap_day_and_month
from methods.logs.stamps.dates_below import DateCarrier
from methods.logs.stamps.said_moments import date_in
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.types import LogProblem
from methods.logs.values.cells import (
    BARE,
    FILL,
    FORMULA,
    GROUPED,
    LONGEST,
    NO_VALUE,
    TEXT,
    Cell,
    is_formula,
    is_grouped,
    sign_flag,
)
from methods.logs.words import vocabulary
from methods.logs.words.substance_words import tokens
from methods.logs.words.unit_spellings import read_unit
from methods.quantities.flags import Flag

CAP = 200
#: Cells remembered for each column.
MEMORY = 20_000
_FOOTERS = vocabulary.word_set(
    "average averages avg mean min minimum max maximum sum total totals count std stdev median mittelwert mittel summe "
    "anzahl moyenne media promedio gemiddelde end eof ende fin statistics statistik summary twa stel peak"
)


@dataclass(slots=True)
class LogRow:
    line: int
    stamp: int
    values: list[float]
    flags: list[int]


@dataclass(slots=True)
class ProblemLog:
    """Keeps the first problems and counts the rest, over the whole file. ``bad_lines`` counts bad cells, too, ``lost``
    lines that gave no row."""

    cap: int = CAP
    fresh: list[LogProblem] = field(default_factory=list)
    kept: int = 0
    beyond: Counter[str] = field(default_factory=Counter)
    lines: int = 0
    bad_lines: int = 0
    lost: int = 0

    def lose_line(self) -> None:
        self.bad_lines += 1
        self.lost += 1

    def add(self, line: int, column: str, value: str, code: str, **details: object) -> None:
        if self.kept >= self.cap:
            self.beyond[code] += 1
            return
        self.kept += 1
        self.fresh.append(messages.problem(line, column, value, code, **details))

    def drain(self) -> list[LogProblem]:
        fresh, self.fresh = self.fresh, []
        return fresh

    def closing(self) -> list[LogProblem]:
        """What is said once, at the end."""
        said = self.drain()
        if self.beyond:
            said.append(messages.more(self.beyond))
        if self.bad_lines * messages.MOSTLY_BAD > self.lines and self.bad_lines > 1:
            said.append(messages.mostly_bad(self.bad_lines, self.lines))
        return said


class RowReader:
    """Reads rows of one file; remembers cells it has seen, because loggers repeat themselves."""

    def __init__(self, plan: CompiledLayout, log: ProblemLog) -> None:
        self.plan, self.log = plan, log
        layout = plan.layout
        swapped = swap_day_and_month(layout.stamp_format)
        self.other_order = compiled(swapped) if layout.day_first is not None and "%m" in swapped else None
        self.head = KnownHead(plan)
        self.carrier = DateCarrier(plan.whole_stamp, layout.dates_below) if layout.dates_below else None
        self._cells: list[dict[str, Cell]] = [{} for _ in plan.values]
        self._long: dict[tuple[str, str], int | None] = {}
        self.sections: list[tuple[int, int]] = []  #: lines with a date that holds for the times below them
        self._formulas: dict[str, tuple[str, int]] = {}
        self._nothing: tuple[int, int] = (0, 0)  # the first line with something in other columns only, and how many
        self.stopped_at = 0  #: line with the head of another table: what is below it is not of this layout
        self.below = 0  #: that head and the lines below it, but for blank ones

    @property
    def stopped(self) -> bool:
        return self.stopped_at > 0

    def read(self, line: int, cells: list[str], *, cut_off: bool = False) -> LogRow | None:
        """None = nothing to keep; what was wrong is in the log. ``cut_off`` = the file ends without a line end."""
        plan = self.plan
        if self.stopped:
            return None
        if plan.layout.reader == "fixed" and len(cells) < plan.width and not cut_off:
            cells = [*cells, *[""] * (plan.width - len(cells))]  # blanks at the end of a line are often left out
        texts = [cells[i].strip() for i in plan.stamp_at if i < len(cells)]
        stamp_text = " ".join(texts).strip()
        stamp = self.carrier.stamp_of(texts) if self.carrier else plan.whole_stamp.parse(stamp_text)
        if (
            stamp is None
            and plan.layout.sections
            and (day := date_in(" ".join(cells), plan.layout.sections)) is not None
        ):
            self.sections.append((line, day))
            return None
        if stamp is None and self._is_furniture(cells):
            return None
        if not stamp_text and self._has_nothing(line, cells):
            return None
        if stamp is None and (is_head(cells) or is_block_head(cells) or self.head.has_other_units(cells)):
            self.stopped_at = line
            self.log.add(line, "", " | ".join(cells), "another_table")
            return None
        self.log.lines += 1
        if self._wrong_width(line, cells, cut_off=cut_off):
            self.log.lose_line()
            return None
        if stamp is None:
            self._bad_stamp(line, stamp_text, has_date=bool(texts[0]))
            self.log.lose_line()
            return None
        if any(cells[at].strip() not in kept for at, kept in plan.sources.items()):
            return None
        row = self._long_row(line, stamp, cells) if plan.is_long else self._wide_row(line, stamp, cells)
        return row and self._with_line_columns(row, cells)

    def _with_line_columns(self, row: LogRow, cells: list[str]) -> LogRow:
        for at, (good, meant) in self.plan.states.items():
            if cells[at].strip() not in good:
                for k in meant:
                    row.flags[k] |= 0 if math.isnan(row.values[k]) else int(Flag.SENSOR_ERROR)
        for at, k in self.plan.signs.items():
            if not math.isnan(row.values[k]):
                row.flags[k] |= sign_flag(cells[at])
        return row

    def _wide_row(self, line: int, stamp: int, cells: list[str]) -> LogRow:
        row = LogRow(line, stamp, [], [])
        for k, column in self.plan.values:
            cell = self.cell(k, cells[column.index])
            if cell.code:
                self._bad_cell(line, column.name, cells[column.index], cell.code, column.unit or "")
            row.values.append(cell.value)
            row.flags.append(cell.flag)
        for index, numbers in self.plan.unit_beside.items():
            for k in numbers:
                self._check_unit(row, k, cells[index])
        return row

    def _long_row(self, line: int, stamp: int, cells: list[str]) -> LogRow | None:
        plan = self.plan
        parameter = cells[plan.parameter_at] if plan.parameter_at >= 0 else ""
        unit = cells[plan.unit_at] if plan.unit_at >= 0 else ""
        k = self.long_number(parameter, unit)
        if k is None:
            shown = " ".join(text.strip() for text in (parameter, unit) if text.strip())
            at = plan.parameter_at if plan.parameter_at >= 0 else plan.unit_at
            self.log.add(line, plan.names[at], shown, "unknown_parameter")
            self.log.lose_line()
            return None
        if k < 0:
            return None
        column = plan.values[k][1]
        cell = self.cell(k, cells[column.index])
        if cell.code:
            self._bad_cell(line, column.name, cells[column.index], cell.code, column.unit or "")
        row = LogRow(line, stamp, [math.nan] * plan.k, [0] * plan.k)
        row.values[k], row.flags[k] = cell.value, cell.flag
        return row

    def cell(self, k: int, text: str) -> Cell:
        """The value cell ``text`` of VALUE column ``k``, remembered."""
        known = self._cells[k]
        cell = known.get(text)
        if cell is None:
            column = self.plan.values[k][1]
            cell = self.plan.cells.read(text, column.unit, column.parameter)
            if column.unit_in_cells and self.plan.cells.is_bare(text):
                cell = cell if math.isnan(cell.value) else Cell(math.nan, 0, BARE)
            if column.index in self.plan.layout.whole and is_grouped(text):
                cell = Cell(math.nan, 0, GROUPED)
            if not cell.flag and (cell.value in column.fills or cell.value in column.no_readings):
                cell = NO_VALUE if cell.value in column.no_readings else Cell(math.nan, 0, FILL)
            if len(known) > MEMORY:
                known.clear()
            if len(text) <= LONGEST:
                known[text] = cell
        return cell

    def long_number(self, parameter: str, unit: str) -> int | None:
        """Which VALUE column a line of a long file belongs to; -1 = left out on purpose, None = unknown."""
        key = (parameter[:LONGEST], unit[:LONGEST])
        if key not in self._long:
            if len(self._long) > MEMORY:
                self._long.clear()
            self._long[key] = self.plan.long.get(long_key(self.plan, *key))
        return self._long[key]

    def unit_agrees(self, k: int, text: str) -> bool:
        column = self.plan.values[k][1]
        return not text.strip() or not column.unit or read_unit(text, column.parameter) == column.unit

    def _check_unit(self, row: LogRow, k: int, text: str) -> None:
        if not self.unit_agrees(k, text):
            column = self.plan.values[k][1]
            self._bad_cell(row.line, column.name, text, "unit_mismatch", column.unit or "")
            row.values[k], row.flags[k] = math.nan, 0

    def closing(self) -> Iterator[LogProblem]:
        """Columns that are mostly formulas without results, and lines of which no column is read."""
        line, lines = self._nothing
        if lines:
            yield messages.problem(line, "", "", "nothing_here", count=f"{lines:,} line{'s' * (lines != 1)}")
        for column, (first, count) in self._formulas.items():
            if 2 * count > self.log.lines:
                yield messages.formulas(column, first, count, self.log.lines)

    def _saw_formula(self, column: str, text: str) -> None:
        first, count = self._formulas.get(column, (text, 0))
        self._formulas[column] = first, count + 1

    def _bad_cell(self, line: int, column: str, text: str, code: str, unit: str) -> None:
        if code == FORMULA:
            self._saw_formula(column, text.strip())
        self.log.bad_lines += 1
        self.log.add(
            line, column, text.strip(), code, unit=unit, decimal=self.plan.layout.decimal, is_text=code == TEXT
        )

    def _bad_stamp(self, line: int, text: str, *, has_date: bool) -> None:
        column = " + ".join(self.plan.names[i] for i in self.plan.stamp_at)
        if not text:
            code = "stamp_missing"
        elif is_formula(text) or " =" in text:
            code = "formula_stamp"
            self._saw_formula(column, text)
        elif self.carrier is not None and not has_date:
            code = "no_date_holds"
        elif self.other_order is not None and self.other_order.parse(text) is not None:
            code = "mixed_dates"
        else:
            code = "bad_stamp"
        self.log.add(line, column, text, code, expected=messages.example(self.plan.layout.stamp_format))

    def _wrong_width(self, line: int, cells: list[str], *, cut_off: bool) -> bool:
        width = self.plan.width
        if cut_off and len(cells) < width:
            self.log.add(line, "", " | ".join(cells), "truncated_line")
            return True
        if len(cells) < self.plan.needed:
            self.log.add(line, "", " | ".join(cells), "short_line", found=len(cells), expected=width)
            return True
        if len(cells) > width and any(cell.strip() for cell in cells[width:]):
            self.log.add(line, "", " | ".join(cells), "long_line", found=len(cells), expected=width)
            return True
        return False

    def _is_section(self, line: int, cells: list[str]) -> bool:
        """Whether the line names a date that holds for the times of day below it."""
        form = self.plan.layout.sections
        day = date_in(" ".join(cells), form) if form else None
        if day is not None:
            self.sections.append((line, day))
        return day is not None

    def _has_nothing(self, line: int, cells: list[str]) -> bool:
        """Whether all its cells stand in columns that are left out, such as those of a longer table beside this one."""
        used = {*self.plan.stamp_at, *(column.index for _, column in self.plan.values)}
        if any(cells[i].strip() for i in used if i < len(cells)) or len(cells) < self.plan.needed:
            return False
        first, count = self._nothing
        self._nothing = first or line, count + 1
        return True

    def _is_furniture(self, cells: list[str]) -> bool:
        """Blank lines, repeated headers, footers and drawn rules: part of the page, not of the data."""
        filled = [cell.strip() for cell in cells if cell.strip(" \t\r\x1a")]  # \x1a: an old mark of the end
        if not filled or all(set(cell) <= set("-=_*#+|") for cell in filled):
            return True
        if self.head.is_repeated_by(cells):
            return True
        return any(_FOOTERS & set(tokens(cell)) for cell in filled[:2])
