"""From a file and its layout to chunks of readings, in constant memory."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from readings.formats.fast import BlockReader
from readings.formats.lines import blocks
from readings.formats.messages import problem
from readings.formats.plan import make_plan
from readings.formats.rows import ProblemLog
from readings.formats.sources import open_source
from readings.formats.types import Chunk, Layout


def read(path: Path, layout: Layout, *, chunk_rows: int = 50_000) -> Iterator[Chunk]:
    """Chunks of at most ``chunk_rows`` rows, in the order of the file.

    ``Chunk.values`` has one column for each of ``layout.values``. The last chunk may be empty and carries what is
    said once about the whole file. Raises Unreadable where nothing can be read, or the layout leaves a question open.
    """
    chunks = _text(path, layout, max(1, chunk_rows))
    held = next(chunks, None)
    for chunk in chunks:
        if held is not None:
            yield held
        held = chunk
    if held is not None:
        held.bytes_read = path.stat().st_size
        yield held


def _text(path: Path, layout: Layout, lines: int) -> Iterator[Chunk]:
    plan, log = make_plan(layout), ProblemLog()
    reader = BlockReader(plan, log)
    with open_source(path) as source:
        for block, is_last in blocks(source, layout.encoding, lines=lines, first_line=layout.first_data_line):
            chunk = reader.read(block, is_last=is_last)
            chunk.problems = log.drain()
            chunk.bytes_read = source.position()
            if len(chunk.lines) or chunk.problems:
                yield chunk
        if source.truncated:
            log.fresh.append(problem(0, "", "", "truncated_file"))
    yield Chunk(
        np.empty(0, dtype=np.int64),
        np.empty(0, dtype=np.int64),
        np.empty((0, plan.k)),
        np.empty((0, plan.k), dtype=np.int16),
        log.closing(),
    )
