"""What the sheets of a workbook look like, and which of them is the log."""

from __future__ import annotations

from dataclasses import dataclass

from methods.logs import messages
from methods.logs.delimited import finish
from methods.logs.files.book import Book
from methods.logs.files.sheets import open_workbook, sheet_rows
from methods.logs.files.sources import Source, refuse
from methods.logs.header import find_header
from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.second_look import LEAST
from methods.logs.sketch import Cells, Sketch, make_sketch
from methods.logs.text.sample import LINES, FileSample
from methods.logs.types import Layout, LayoutQuestion, LogProblem, LogSheet

#: A sheet that explains less than this share of what the best one does is no second log.
RIVAL = 0.5
#: Sheets beyond these are not offered.
OFFERED = 50


@dataclass(frozen=True, slots=True)
class SheetSketch:
    sketch: Sketch
    sample: FileSample
    hidden: bool

    @property
    def title(self) -> str:
        return self.sketch.layout.sheet


@dataclass(frozen=True, slots=True)
class BookSketch:
    """``sketch`` of the sheet that is read, or of the best one while ``question`` asks which; None = there is none.
    ``seen``: all that look like logs, where there are others; ``problems`` name what is not read."""

    sketch: Sketch | None
    sample: FileSample
    question: LayoutQuestion | None = None
    seen: tuple[LogSheet, ...] = ()
    problems: tuple[LogProblem, ...] = ()


def book_sketch(source: Source, sheet: str = "") -> BookSketch:
    """What a workbook looks like; ``sheet`` is the one that a person chose. Raises Unreadable."""
    assert source.book is not None
    with open_workbook(source.book) as book:
        if sheet and sheet not in book.sheets:
            raise refuse("no_sheet", f"The file has no sheet “{sheet[:60]}”: choose another one.")
        logs = _logs(book, source)
        if not logs:
            first = next((_first_rows(book, title) for title in book.sheets), ([], True))
            return BookSketch(None, _sample(source.container, *first))
        best = max(logs, key=lambda log: (not log.hidden, log.sketch.score))
        rivals = [log for log in logs if log.sketch.score >= max(LEAST, RIVAL * best.sketch.score)]
        shown = [log for log in rivals if not log.hidden]
        chosen = next((log for log in logs if log.title == sheet), None)
        if sheet and chosen is None:
            raise refuse("not_a_log", f"The sheet “{sheet[:60]}” does not look like a log: choose another one.")
        chosen = chosen or (shown[0] if len(shown) == 1 else None)
        seen = tuple(LogSheet(log.title, log.sketch.layout.shape_key(), log.hidden) for log in rivals)
        if chosen is None and rivals:
            return BookSketch(best.sketch, best.sample, _question(book, shown, rivals), seen)
        chosen = chosen or best
        others = [log for log in rivals if log is not chosen]
        problems = (messages.other_sheets(chosen.title, [_named(log) for log in others]),) if others else ()
        return BookSketch(chosen.sketch, chosen.sample, None, seen if others else (), problems)


def _logs(book: Book, source: Source) -> list[SheetSketch]:
    assert source.book is not None
    found = []
    for title, hidden in book.sheets.items():
        rows, complete = _first_rows(book, title)
        sketch = _sketch(rows, Layout(source.book.kind, "", source.container, sheet=title), late=book.late)
        if sketch is not None:
            found.append(SheetSketch(sketch, _sample(source.container, rows, complete), hidden))
    return found


def _sample(container: str, rows: list[Cells], complete: bool) -> FileSample:
    return FileSample("", container, tuple(" ".join(cell for cell in row if cell) for row in rows), complete)


def _named(log: SheetSketch) -> str:
    return f"{log.title}, hidden" if log.hidden else log.title


def _question(book: Book, shown: list[SheetSketch], rivals: list[SheetSketch]) -> LayoutQuestion:
    """Hidden sheets come last."""
    offered = [*shown, *(log for log in rivals if log.hidden)][:OFFERED]
    choices = tuple((log.title, _words(book, log)) for log in offered)
    return LayoutQuestion("sheet", messages.which_sheet(len(rivals), len(shown)), choices)


def _words(book: Book, log: SheetSketch) -> str:
    """Its name, how many rows it has, and the time of the first of them as it is written."""
    layout = log.sketch.layout
    rows = sum(
        1 for line, cells in enumerate(sheet_rows(book, log.title), 1) if line >= layout.first_data_line and any(cells)
    )
    stamps = (" ".join(row[i].strip() for i in stamp_columns(layout)) for row in log.sketch.data)
    return messages.sheet_words(log.title, rows, next(stamps, ""), hidden=log.hidden)


def _first_rows(book: Book, title: str) -> tuple[list[Cells], bool]:
    rows: list[Cells] = []
    for row in sheet_rows(book, title):
        if len(rows) == LINES:
            return _level(rows), False
        rows.append(row)
    return _level(rows), True


def _level(rows: list[Cells]) -> list[Cells]:
    """All of one width: that of the rightmost cell with something in it."""
    width = max((i + 1 for row in rows for i, cell in enumerate(row) if cell.strip()), default=0)
    return [[*row[:width], *[""] * (width - len(row))] for row in rows]


def _sketch(rows: list[Cells], base: Layout, *, late: bool) -> Sketch | None:
    sketch = make_sketch(rows, base)
    if sketch is None or sketch.width < 2:
        return None
    find_header(sketch, lambda at: [])
    sketch = finish(sketch)
    if late and sketch.layout.stamp_format == "serial_1900":
        sketch.put(stamp_format="serial_1904")
    return sketch
