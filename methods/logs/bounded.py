"""Understanding and reading within bounds: what has to be taken apart by a library is read in a process of its own.

Text is cut by its lines here, as fast as ever. Workbooks of all kinds, documents and archives are hostile until shown
otherwise; see :mod:`methods.logs.apart`.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from functools import partial
from pathlib import Path
from typing import TypeVar

from methods.logs import reading, sniffing
from methods.logs.apart import LOOKING, READING, UNDERSTANDING, ProcessBounds, apart, can_fork, one_apart
from methods.logs.files.json_document import is_document
from methods.logs.files.sources import LOOKED_AT, SPOOLED, Gunzip, kind_of
from methods.logs.types import Chunk, Layout, Understanding, Unreadable

T = TypeVar("T")
#: Kinds of files that are no text.
TAKEN_APART = frozenset(("zip", *SPOOLED))


def understand(path: Path, *, name: str, sheet: str = "", handed_in: date | None = None) -> Understanding:
    """What a file is. Never raises for bad content: then ``layout`` is None and ``problems`` say why.

    ``name`` of the file and the day on which it was ``handed_in`` are for messages, to suggest the date of stamps
    without one, and to leave out what would put all readings behind it. ``sheet`` is the sheet of a workbook that
    somebody chose. Where it is to be chosen and was not, nothing else is asked, and ``layout`` is that of one of them.
    ``problems`` are those of the first lines; :func:`read` finds them all.
    """
    try:
        return within(path, partial(sniffing.understand, path, name=name, sheet=sheet, handed_in=handed_in))
    except Unreadable as error:
        return Understanding(None, problems=tuple(error.problems))


def read(path: Path, layout: Layout, *, chunk_rows: int = 50_000) -> Iterator[Chunk]:
    """Chunks of at most ``chunk_rows`` rows, in the order of the file.

    ``Chunk.values`` has one column for each of ``layout.values``. The last chunk may be empty; it carries what is
    said once about the whole file. Raises Unreadable where nothing can be read, or the layout leaves a question open.
    """
    return pieces_within(path, partial(reading.read, path, layout, chunk_rows=chunk_rows), READING)


def within(path: Path, work: Callable[[], T], bounds: ProcessBounds = UNDERSTANDING) -> T:
    """What ``work`` makes of the file at ``path``. Raises Unreadable, too, where that asks for more than ``bounds``."""
    return one_apart(work, bounds) if is_taken_apart(path) else work()


def pieces_within(path: Path, work: Callable[[], Iterable[T]], bounds: ProcessBounds = LOOKING) -> Iterator[T]:
    """What ``work`` makes of the file at ``path``, piece by piece; as ``within``."""
    yield from apart(work, bounds) if is_taken_apart(path) else work()


def is_taken_apart(path: Path) -> bool:
    """Whether the file is anything else than text, or text packed by GZIP. By its first bytes."""
    if not can_fork():
        return False
    with path.open("rb") as raw:
        head = raw.read(LOOKED_AT)
        if kind_of(head) == "gzip":
            raw.seek(0)
            try:
                head = Gunzip(raw).read(LOOKED_AT)
            except (EOFError, zlib.error):
                return False
    kind = kind_of(head)
    if kind in ("zip", "xls"):
        _with_libraries()
    return kind in TAKEN_APART or (not kind and is_document(head))


def _with_libraries() -> None:
    """Once in this process, and not in each of those that it forks, which might find the import half done."""
    import openpyxl.reader.excel
    import openpyxl.styles.stylesheet  # noqa: F401
