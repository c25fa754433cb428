"""What the sheets of a workbook look like."""

from __future__ import annotations

from methods.logs.book import Book
from methods.logs.delimited import finish
from methods.logs.header import find_header
from methods.logs.sample import LINES, FileSample
from methods.logs.sheets import open_workbook, sheet_rows
from methods.logs.sketch import Cells, Sketch, make_sketch
from methods.logs.types import Layout


def sketches(book: Book, kind: str, container: str) -> tuple[list[Sketch], FileSample, list[str]]:
    """The best sheet's sketch, the rows it was made from as text, and the other sheets that look like logs."""
    sheet_sketches: list[tuple[Sketch, FileSample]] = []
    for title in book.sheets:
        rows, complete = _first_rows(book, title)
        sketch = _sketch(rows, Layout(kind, "", container, sheet=title), late=book.late)
        if sketch is not None:
            lines = tuple(" ".join(cell for cell in row if cell) for row in rows)
            sheet_sketches.append((sketch, FileSample("", container, lines, complete)))
    if not sheet_sketches:
        return [], FileSample("", container, (), complete=True), []
    best = max(sheet_sketches, key=lambda pair: pair[0].score)
    others = [s.layout.sheet for s, _ in sheet_sketches if s is not best[0] and s.score > best[0].score / 2]
    return [best[0]], best[1], others


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


__all__ = ["open_workbook", "sketches"]
