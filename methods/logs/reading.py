"""From a file and its layout to chunks of readings, in constant memory."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from methods.logs import messages
from methods.logs.block_reader import BlockReader
from methods.logs.files.sheets import open_workbook, sheet_rows
from methods.logs.files.sources import Source, open_source, refuse
from methods.logs.layouts.compiled_layout import make_plan
from methods.logs.messages import problem
from methods.logs.row_reader import LogRow, ProblemLog, RowReader
from methods.logs.stamps.hour_columns import spread
from methods.logs.stamps.stamp_sequence import StampSequence
from methods.logs.stamps.whole_stamps import StampCompleter
from methods.logs.text.lines import blocks
from methods.logs.text.repeated_lines import RepeatedLines
from methods.logs.types import WORKBOOKS, Chunk, Layout, LogProblem

#: Decimals that are left of a number that is multiplied: more than any sensor has, fewer than the noise of the product.
PLACES = 10


def read(path: Path, layout: Layout, *, chunk_rows: int = 50_000) -> Iterator[Chunk]:
    """Chunks of at most ``chunk_rows`` rows, in the order of the file.

    ``Chunk.values`` has one column for each of ``layout.values``. The last chunk may be empty; it carries what is
    said once about the whole file. Raises Unreadable where nothing can be read, or the layout leaves a question open.
    """
    plan, log = make_plan(layout), ProblemLog()
    reader, repeats, sequence = BlockReader(plan, log), RepeatedLines(plan), StampSequence(layout.stamp_format)
    completer, rows, dropped = StampCompleter(layout), 0, 0
    with open_source(path) as source:
        if (source.book.kind if source.book else "") != (layout.reader if layout.reader in WORKBOOKS else ""):
            raise refuse("other_shape", "The file is of another kind than its layout: let it be recognised again.")
        for chunk in _chunks(source, reader, max(1, chunk_rows // max(1, len(layout.hours)))):
            sequence.see(chunk.lines, chunk.stamps)
            chunk.problems = log.drain()
            dropped += len(chunk.lines)
            completer.place(chunk, reader.rows.sections)
            dropped, rows = dropped - len(chunk.lines), rows + len(chunk.lines)
            chunk = spread(chunk, layout) if layout.hours else chunk
            _scale(chunk, layout)
            repeats.see(chunk)
            chunk.stamps = chunk.stamps - plan.ahead_ms
            chunk.bytes_read = min(source.position(), path.stat().st_size)
            if len(chunk.lines) or chunk.problems:
                yield chunk
        if source.truncated:
            log.fresh.append(problem(0, "", "", "truncated_file"))
    closing = _chunk([], len(layout.values))
    left_out = dropped + reader.rows.below
    closing.problems = [
        *_mostly_left_out(reader.rows.stopped_at or completer.stopped_at or 0, left_out, log.lost, rows),
        *log.closing(),
        *reader.closing(),
        *sequence.closing(),
        *repeats.closing(),
        *completer.closing(),
    ]
    closing.bytes_read = path.stat().st_size
    yield closing


def _mostly_left_out(line: int, left_out: int, lost: int, rows: int) -> list[LogProblem]:
    """Where the lines that were ``left_out`` as a whole, from ``line`` on, and those that were ``lost`` one by one are
    more than those that became rows; of lost ones alone the log says it."""
    return (
        [messages.most_left_out(line, left_out, rows + lost + left_out)] if left_out and left_out + lost > rows else []
    )


def _scale(chunk: Chunk, layout: Layout) -> None:
    """Numbers as their columns say; 0.57 times 100 is 57, and not a bit beside it."""
    for k, column in enumerate(layout.values):
        if column.scale != 1:
            chunk.values[:, k] = np.round(chunk.values[:, k] * column.scale, PLACES)


def _chunks(source: Source, reader: BlockReader, rows: int) -> Iterator[Chunk]:
    plan = reader.plan
    if source.book is not None:
        with open_workbook(source.book) as book:
            yield from _sheet_chunks(sheet_rows(book, plan.layout.sheet, plan.width), reader.rows, rows)
        return
    first = plan.layout.first_data_line
    for block, is_last in blocks(source, plan.layout.encoding, lines=rows, first_line=first):
        yield reader.read(block, is_last=is_last)


def _sheet_chunks(lines: Iterator[list[str]], reader: RowReader, rows: int) -> Iterator[Chunk]:
    rows_read: list[LogRow] = []
    width, first = reader.plan.width, reader.plan.layout.first_data_line
    for line, cells in enumerate(lines, 1):
        if line < first:
            continue
        row = reader.read(line, [*cells, *[""] * (width - len(cells))])
        if reader.stopped:  # gone through to the end, to be counted
            reader.below += any(cells)
            continue
        if row is not None:
            rows_read.append(row)
        if len(rows_read) == rows:
            yield _chunk(rows_read, reader.plan.k)
            rows_read = []
    yield _chunk(rows_read, reader.plan.k)


def _chunk(rows: list[LogRow], k: int) -> Chunk:
    return Chunk(
        lines=np.array([row.line for row in rows], dtype=np.int64),
        stamps=np.array([row.stamp for row in rows], dtype=np.int64),
        values=np.array([row.values for row in rows], dtype=np.float64).reshape(len(rows), k),
        flags=np.array([row.flags for row in rows], dtype=np.int16).reshape(len(rows), k),
    )
