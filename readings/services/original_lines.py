"""Lines of an original, as text to look at."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from functools import partial
from itertools import islice
from pathlib import Path

from methods.logs.apart import LOOKING
from methods.logs.bounded import within
from methods.logs.files.sheets import open_workbook, sheet_rows
from methods.logs.files.sources import open_source
from methods.logs.text.lines import LONGEST_LINE, inner_encoding, pieces
from methods.logs.text.sample import take_sample
from methods.logs.types import Unreadable
from readings.models import Upload
from readings.services.originals import OriginalAltered, OriginalMissing, local_copy

APART = " | "  # between the cells of a workbook's row
SHOWN = 300  # characters of a line
KEPT = 4 * SHOWN  # bytes of a line: no encoding takes more than four for a character

log = logging.getLogger(__name__)


def lines_around(upload: Upload, line: int, *, before: int = 0, after: int = 0) -> list[tuple[int, str]]:
    """(number, text) of the lines from ``line − before`` to ``line + after``, as far as there are any.

    Of a workbook these are the rows of the sheet that is read, its cells parted by bars. Empty for what has neither:
    a binary file, a workbook that was not understood, an original that is gone. Raises OriginalAltered.
    """
    first, last = max(1, line - before), line + after
    try:
        with local_copy(upload) as path:
            return within(path, partial(_between, path, _sheet(upload), first, last), LOOKING)
    except OriginalAltered:
        raise
    except (Unreadable, OriginalMissing):
        return []


def first_lines(upload: Upload, count: int) -> list[tuple[int, str]]:
    """How the file begins, for a page on which that is not the matter: nothing where its bytes are not its own."""
    try:
        return lines_around(upload, 1, after=count - 1)
    except OriginalAltered as found:
        log.error("%s", found.log)
        return []


def _between(path: Path, sheet: str, first: int, last: int) -> list[tuple[int, str]]:
    lines = enumerate(islice(_lines(path, sheet), last), start=1)
    return [(number, text[:SHOWN]) for number, text in lines if number >= first]


def _sheet(upload: Upload) -> str:
    """The sheet that the lines of ``upload`` are of; "" = it has none."""
    return str((upload.layout or {}).get("sheet", ""))


def _lines(path: Path, sheet: str) -> Iterator[str]:
    with open_source(path) as source:
        if source.book:
            with open_workbook(source.book) as book:
                yield from (APART.join(cells) for cells in sheet_rows(book, sheet))
            return
        encoding = take_sample(source).encoding
    inner = inner_encoding(encoding)
    with open_source(path) as source:
        for raw in _cut(pieces(source, encoding)):
            yield raw.decode(inner, errors="replace").rstrip("\r")


def _cut(stream: Iterator[bytes]) -> Iterator[bytes]:
    """The beginning of each line. What goes on for longer than any line of a log ends the file: it may be an archive
    bomb, and is not worth a page that hangs."""
    begun, length = b"", 0
    for piece in stream:
        first, *others = piece.split(b"\n")
        begun, length = (begun + first)[:KEPT], length + len(first)
        for other in others:
            yield begun
            begun, length = other[:KEPT], len(other)
        if length > LONGEST_LINE:
            break
    if begun:
        yield begun
