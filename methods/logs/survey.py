"""What only the whole file can tell: the order of day and month, every parameter of a long file, the decimal mark."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from methods.logs.files.sheets import open_workbook, sheet_rows
from methods.logs.files.sources import Source, open_source
from methods.logs.layouts.compiled_layout import stamp_columns, stamp_forms
from methods.logs.sketch import is_number
from methods.logs.stamps.stamp_formats import compiled, split_format
from methods.logs.stamps.stamp_sequence import StampSequence
from methods.logs.stamps.vector_stamps import stamps_of
from methods.logs.text.block import Block, Grid, texts_of, trim
from methods.logs.text.cutting import Uncuttable, grid_of, splitter
from methods.logs.text.distinct import begins_otherwise, distinct_texts
from methods.logs.text.lines import blocks
from methods.logs.types import Layout, Unreadable
from methods.logs.values import numerals
from methods.quantities.arrays import Bools, Ints

MOST_KINDS = 500
MOST_TEXTS = 60
BLOCK_LINES = 50_000


@dataclass(slots=True)
class SurveyTally:
    """How one format fares over the file. ``alone`` is the first line that another candidate cannot read; ``total`` is
    the sum of all its stamps: the same for two formats that mean the same by every line."""

    form: str
    alone: int = 0
    alone_text: str = ""
    refuted: bool = False
    first: int | None = None
    last: int | None = None
    total: int = 0


@dataclass(slots=True)
class Survey:
    """``tallies`` for each candidate format; ``kinds`` counts (parameter, unit) texts of a long file, ``texts`` those
    of columns that speak of their line (up to ``MOST_TEXTS`` different ones); ``sequences``: the stamps in each format.
    """

    tallies: tuple[SurveyTally, ...] = ()
    kinds: Counter[tuple[str, str]] = field(default_factory=Counter)
    texts: dict[int, dict[str, None]] = field(default_factory=dict)
    sequences: dict[str, StampSequence] = field(default_factory=dict)
    marks: list[str] = field(default_factory=list)
    lines: int = 0


@dataclass(slots=True)
class Wanted:
    """``stamp_at`` and ``forms`` for the dates; ``kinds_at`` (parameter, unit) columns, -1 = none; ``marks_at`` value
    columns whose decimal mark has not been seen; ``texts_at`` columns that speak of their line;
    ``sequence``: what the order of the stamps gives away, ``still``: of dates that are all the same, too."""

    stamp_at: tuple[int, ...] = ()
    forms: tuple[str, ...] = ()
    kinds_at: tuple[int, int] = (-1, -1)
    marks_at: tuple[int, ...] = ()
    texts_at: tuple[int, ...] = ()
    sequence: bool = False
    still: bool = False

    def __bool__(self) -> bool:
        return self.for_all_lines or self.sequence

    @property
    def for_all_lines(self) -> bool:
        """Whether something is looked for that only the last line settles."""
        return bool(self.forms) or self.kinds_at != (-1, -1) or bool(self.marks_at) or bool(self.texts_at)


class Surveyor:
    """Goes through a file once; ``width`` is the number of columns."""

    def __init__(self, layout: Layout, width: int, wanted: Wanted) -> None:
        self.layout, self.width, self.wanted = layout, width, wanted
        self.split = splitter(layout)
        self.forms = [stamp_forms(layout, form, wanted.stamp_at) for form in wanted.forms]
        self.whole = [compiled(form) for form in wanted.forms]
        self.dates_lead = all(form[:2] in ("%d", "%m", "%y", "%Y") for form in wanted.forms)
        self.stamp_at = tuple(stamp_columns(layout))
        form = layout.stamp_format
        self.own_stamp = stamp_forms(layout, form, self.stamp_at) if form and self.stamp_at else ()
        self.timed_at, self.time_forms, self._whole_time = self.stamp_at, self.own_stamp, compiled(form)
        if layout.dates_below:  # a line below that with its date is a reading, too: its time of day tells
            parts = split_format(form, len(self.stamp_at))[1:]
            self.timed_at, self.time_forms = self.stamp_at[1:], tuple(map(compiled, parts))
            self._whole_time = compiled(" ".join(parts))
        self.found = Survey(tuple(SurveyTally(form) for form in wanted.forms))
        if wanted.sequence:
            self.found.sequences = {text: StampSequence(text, still=wanted.still) for text in wanted.forms or (form,)}

    def see_block(self, block: Block) -> None:
        clean, grid = grid_of(self.layout, self.width, block)
        if self.wanted.forms and len(grid.rows):
            self._see_stamps(block, clean, grid)
        elif self.wanted.sequence and self.own_stamp and len(grid.rows):
            ms, good = stamps_of(clean, grid, self.stamp_at, self.own_stamp)
            self.found.sequences[self.layout.stamp_format].see(grid.rows[good] + block.first_line, ms[good])
        if self.wanted.kinds_at != (-1, -1) and len(grid.rows):
            self._see_kinds(clean, grid)
        if self.wanted.marks_at and b"," in block.raw and len(self.found.marks) < MOST_KINDS:
            self._see_marks(clean, grid)
        if self.wanted.texts_at and len(grid.rows):
            for at in self.wanted.texts_at:
                self._see_texts(clean, grid, at)
        odd = np.ones(block.n, dtype=bool)
        odd[grid.rows] = False
        for i in np.flatnonzero(odd):
            self._see_line(block, int(i))
        self.found.lines += block.n

    def see_cells(self, line: int, cells: list[str]) -> None:
        """One line that was cut elsewhere."""
        if self.wanted.forms and max(self.wanted.stamp_at) < len(cells):
            text = " ".join(cells[at].strip() for at in self.wanted.stamp_at)
            read = [form.parse(text) for form in self.whole]
            self._count(
                np.array([line]), [(np.array([ms or 0]), np.array([ms is not None])) for ms in read], lambda _: text
            )
        if self.wanted.kinds_at != (-1, -1) and max(self.wanted.kinds_at) < len(cells):
            parameter, unit = (cells[at].strip() if at >= 0 else "" for at in self.wanted.kinds_at)
            self.found.kinds[parameter, unit] += 1
        for at in self.wanted.texts_at:
            if at < len(cells) and self._is_stamped(cells):
                self._add_texts(at, [cells[at].strip()])

    def _has_stamp(self, block: Block, grid: Grid) -> Bools:
        """Lines with a time: not names that are repeated, nor what stands below the readings."""
        if not self.time_forms:
            return np.zeros(len(grid.rows), dtype=bool)
        _, good = stamps_of(block, grid, self.timed_at, self.time_forms)
        for i in np.flatnonzero(~good):
            good[i] = self._whole_time.parse(self._stamp_text(block, grid, int(i), self.timed_at)) is not None
        return good

    def _is_stamped(self, cells: list[str]) -> bool:
        if not self.time_forms or max(self.timed_at) >= len(cells):
            return False
        return self._whole_time.parse(" ".join(cells[at].strip() for at in self.timed_at)) is not None

    def _see_kinds(self, block: Block, grid: Grid) -> None:
        parameter_at, unit_at = self.wanted.kinds_at
        nothing = [""], np.zeros(len(grid.rows), dtype=np.int64)
        parameters, which = distinct_texts(block, grid, parameter_at) if parameter_at >= 0 else nothing
        units, of_unit = distinct_texts(block, grid, unit_at) if unit_at >= 0 else nothing
        pairs = which * len(units) + of_unit
        counts = np.bincount(pairs)
        there = {(parameters[k // len(units)], units[k % len(units)]): k for k in np.flatnonzero(counts).tolist()}
        new = {kind: int(np.argmax(pairs == k)) for kind, k in there.items() if kind not in self.found.kinds}
        for kind in sorted(there, key=lambda kind: new.get(kind, -1)):
            self.found.kinds[kind] += int(counts[there[kind]])

    def _see_texts(self, block: Block, grid: Grid, at: int) -> None:
        """Of lines whose text is new it is asked whether they are readings; most have one that was seen."""
        seen = self.found.texts.get(at, {})
        if len(seen) >= MOST_TEXTS:
            return
        texts, which = distinct_texts(block, grid, at)
        new = np.isin(which, [k for k, text in enumerate(texts) if text not in seen])
        if new.any():
            of_readings = which[new][self._has_stamp(block, grid.only(new))]
            self._add_texts(at, [texts[k] for k in np.unique(of_readings)])

    def _add_texts(self, at: int, texts: list[str]) -> None:
        seen = self.found.texts.setdefault(at, {})
        if len(seen) < MOST_TEXTS:
            seen.update(dict.fromkeys(texts))

    def _see_line(self, block: Block, i: int) -> None:
        if block.starts[i] == block.ends[i]:
            return
        try:
            cells = self.split(block.text(i))
        except Uncuttable:
            return
        self.see_cells(block.first_line + i, cells)

    def _see_stamps(self, block: Block, clean: Block, grid: Grid) -> None:
        if self.dates_lead and not any(seen.needs_hours for seen in self.found.sequences.values()):
            grid = self._with_new_dates(clean, grid)
        read = [stamps_of(clean, grid, self.wanted.stamp_at, forms) for forms in self.forms]
        lines = grid.rows + block.first_line
        for form, (ms, good) in zip(self.wanted.forms, read, strict=True):
            if form in self.found.sequences:
                self.found.sequences[form].see(lines[good], ms[good])
        nobody = ~np.logical_or.reduce([good for _, good in read])
        for i in np.flatnonzero(nobody):  # what the vectors leave to the careful path
            self._see_line(block, int(grid.rows[i]))
        at = np.flatnonzero(~nobody)
        self._count(
            lines[at],
            [(ms[at], good[at]) for ms, good in read],
            lambda i: self._stamp_text(clean, grid, int(at[i]), self.wanted.stamp_at),
        )

    def _with_new_dates(self, block: Block, grid: Grid) -> Grid:
        """Lines on either side of a new date, the first and the last: dates are all that is looked for."""
        at = self.wanted.stamp_at[0]
        starts, _ = trim(block, grid.starts[:, at], grid.ends[:, at])
        other = begins_otherwise(block, starts)
        return grid.only(np.concatenate(([True], other)) | np.concatenate((other, [True])))

    def _count(self, lines: Ints, read: list[tuple[Ints, Bools]], text_of: Callable[[int], str]) -> None:
        if not len(lines):
            return
        some = np.logical_or.reduce([good for _, good in read])
        every = np.logical_and.reduce([good for _, good in read])
        for tally, (ms, good) in zip(self.found.tallies, read, strict=True):
            tally.refuted |= bool((some & ~good).any())
            alone = np.flatnonzero(good & ~every)
            if not tally.alone and len(alone):
                tally.alone, tally.alone_text = int(lines[alone[0]]), text_of(int(alone[0]))
            if good.any():
                seen = ms[good]
                tally.first = int(seen[0]) if tally.first is None else tally.first
                tally.last = int(seen[-1])
                tally.total += int(seen.sum())

    def _see_marks(self, block: Block, grid: Grid) -> None:
        for at in self.wanted.marks_at:
            cells = [text for text in self._texts(block, grid, at) if "," in text and is_number(text)]
            self.found.marks += cells[:MOST_KINDS]

    def _texts(self, block: Block, grid: Grid, at: int) -> list[str]:
        if at < 0:
            return [""] * len(grid.rows)
        return texts_of(block, grid, at)

    def _stamp_text(self, block: Block, grid: Grid, i: int, stamp_at: tuple[int, ...]) -> str:
        row = Grid(grid.rows[i : i + 1], grid.starts[i : i + 1], grid.ends[i : i + 1])
        return " ".join(self._texts(block, row, at)[0] for at in stamp_at)


def decimal_from(marks: list[str]) -> tuple[str, str, bool]:
    """As :func:`numerals.decide`, from cells that have a comma in them."""
    return numerals.decide(numerals.weigh(marks))


def survey(path: Path, layout: Layout, width: int, wanted: Wanted) -> Survey:
    """Goes through the whole file once, in constant memory; what only its order gives away may be known earlier.

    Damage in the middle is told when the file is read; here it matters only where the rest is needed.
    """
    surveyor = Surveyor(layout, width, wanted)
    try:
        with open_source(path) as source:
            _survey(source, surveyor)
    except Unreadable:
        if wanted.for_all_lines:
            raise
    return surveyor.found


def _survey(source: Source, surveyor: Surveyor) -> None:
    layout = surveyor.layout
    if source.book is not None:
        with open_workbook(source.book) as book:
            for line, cells in enumerate(sheet_rows(book, layout.sheet, surveyor.width), 1):
                if line >= layout.first_data_line:
                    surveyor.see_cells(line, cells)
        return
    for block, _ in blocks(source, layout.encoding, lines=BLOCK_LINES, first_line=layout.first_data_line):
        surveyor.see_block(block)
        if not surveyor.wanted.for_all_lines and all(seen.is_settled for seen in surveyor.found.sequences.values()):
            return
