"""Lines of an original, as text to look at."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from readings.formats.lines import inner_encoding, pieces, sniff_encoding
from readings.formats.sources import open_source
from readings.formats.types import Unreadable
from readings.models import Upload
from readings.services.originals import local_copy

SHOWN = 300  # characters of a line
HEAD = 64 * 1024


def lines_around(upload: Upload, line: int, *, before: int = 0, after: int = 0) -> list[tuple[int, str]]:
    """(number, text) of the lines from ``line − before`` to ``line + after``, as far as there are any.

    Empty for what has no lines of text: a workbook, a binary file.
    """
    first, last = max(1, line - before), line + after
    wanted = []
    with local_copy(upload) as path:
        try:
            for number, text in enumerate(_lines(path), start=1):
                if number >= first:
                    wanted.append((number, text[:SHOWN]))
                if number >= last:
                    break
        except Unreadable:
            return []
    return wanted


def _lines(path: Path) -> Iterator[str]:
    with open_source(path) as source:
        if source.workbook:
            return
        encoding = sniff_encoding(source.read(HEAD))
    with open_source(path) as source:
        rest = b""
        for piece in pieces(source, encoding):
            *whole, rest = (rest + piece).split(b"\n")
            for raw in whole:
                yield raw.decode(inner_encoding(encoding), errors="replace").rstrip("\r")
        if rest:
            yield rest.decode(inner_encoding(encoding), errors="replace").rstrip("\r")
