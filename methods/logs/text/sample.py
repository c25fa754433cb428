"""The beginning of a file as text, and whether it is text at all."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from methods.logs.files.sources import Source, open_source, refuse
from methods.logs.text.characters import plain
from methods.logs.text.encodings import ENCODINGS, USUAL, decodes, encodings_of
from methods.logs.text.lines import LONGEST_LINE, inner_encoding, pieces, sniff_encoding
from methods.logs.text.zero_bytes import TORN, without_zeros

HEAD = 256 * 1024
LINES = 400


@dataclass(frozen=True, slots=True)
class FileSample:
    """The first lines of a text file; ``complete`` = they are the whole of it, ``cut_off`` = the packed file
    ends too early. ``encodings``: those it can be in, where it is not Unicode; ``raw`` are the lines undecoded."""

    encoding: str
    container: str
    lines: tuple[str, ...]
    complete: bool
    cut_off: bool = False
    encodings: tuple[str, ...] = ()
    raw: bytes = b""


def in_encoding(sample: FileSample, encoding: str) -> FileSample:
    """The same lines, decoded in another way."""
    if encoding == sample.encoding:
        return sample
    lines = _lines(_text(sample.raw, encoding))[: len(sample.lines)]
    return replace(sample, encoding=encoding, lines=tuple(lines))


def could_be_in(path: Path, encoding: str) -> bool:
    """Whether the first lines of a text file can be decoded so; always for a file that tells its encoding itself.

    Raises Unreadable as :func:`methods.logs.files.sources.open_source` does.
    """
    with open_source(path) as source:
        if encoding not in ENCODINGS or source.book is not None:
            return True
        head = _head(source)
    return decodes(head if len(head) < HEAD else head[: head.rfind(b"\n") + 1], encoding)


def _head(source: Source) -> bytes:
    head = source.read(HEAD)
    while head and len(head) < HEAD and (more := source.read(HEAD - len(head))):
        head += more
    return head


def take_sample(source: Source, most: int = LINES) -> FileSample:
    """``most`` lines at most. Raises Unreadable for what is not text, and for a file without a line of it."""
    head = _head(source)
    if not head and source.truncated:
        raise refuse("truncated_file", "The packed file is cut off before its first line: copy it again.")
    if not head:
        raise refuse("empty", "The file is empty: nothing was copied from the logger.")
    encoding = sniff_encoding(head)
    raw = b"".join(pieces(_again(source, head), encoding))
    _require_more_than_zeros(raw, ended=len(head) < HEAD)
    able = encodings_of(raw if len(head) < HEAD else raw[: raw.rfind(b"\n")]) if encoding == USUAL else ()
    encoding = able[0] if able else encoding
    text = _text(raw, encoding)
    _require_text(text)
    if "\n" not in text and len(text) > min(LONGEST_LINE, HEAD // 2):
        raise refuse("line_too_long", "The first line of this file never ends: it is not a log.")
    ended = len(head) < HEAD
    lines = _lines(text)
    if not ended:
        lines.pop()
    lines = lines[:most]
    while lines and not lines[-1].strip():
        lines.pop()
    if not lines:
        raise refuse("empty", "The file holds nothing but blank lines.")
    complete = ended and len(lines) < most
    kept = raw if len(able) > 1 else b""
    return FileSample(encoding, source.container, tuple(lines), complete, source.truncated, able, kept)


def _text(raw: bytes, encoding: str) -> str:
    return plain(without_zeros(raw).decode(inner_encoding(encoding), errors="replace"))


def _lines(text: str) -> list[str]:
    return [line.removesuffix("\r") for line in text.replace("\0", " ").split("\n")]


def _again(source: Source, head: bytes) -> Source:
    """``head`` as a source of its own."""
    left = [head]
    return Source(lambda _: left.pop() if left else b"", lambda: 0, source.container, len(head))


def _require_more_than_zeros(raw: bytes, *, ended: bool) -> None:
    if b"\0" not in raw or raw.strip(b"\0 \t\r\n"):
        return
    if ended:
        raise refuse("empty", "The file holds nothing but zero bytes: nothing was written into it.")
    raise refuse("binary", "The file begins with nothing but zero bytes, and is no text: copy it again.")


_CONTROL = re.compile(r"[\x01-\x08\x0e-\x1a\x1c-\x1f\x7f]")


def _require_text(text: str) -> None:
    beginning = text[:65_536]
    odd = len(_CONTROL.findall(beginning)) + beginning.count("\ufffd") // 4
    torn = beginning.count(TORN)
    if torn > max(1, (beginning.count("\n") + 1) // 3) or odd > max(2, len(beginning) // 500):
        raise refuse("binary", "This is not text but a binary file: export the readings as text (CSV) or XLSX.")
