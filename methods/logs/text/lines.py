"""Plain bytes to blocks of whole lines, in constant memory, whatever the encoding and the line ends."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator

import numpy as np

from methods.logs.files.sources import Source, refuse
from methods.logs.text.block import Block, make_block
from methods.logs.text.zero_bytes import shortened

PIECE = 1 << 20
LONGEST_LINE = 1 << 20
#: A block is cut here at the latest, so that long lines do not fill the memory.
MOST_BYTES = 16 << 20
BOMS = ((codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"), (codecs.BOM_UTF16_BE, "utf-16-be"))


#: Of damaged UTF-8, so many times more characters are whole than broken.
SOUND = 2
_ZEROS = re.compile(rb"\0{17,}")


def sniff_encoding(head: bytes) -> str:
    """utf-8, utf-16-le, utf-16-be or cp1252, from the first bytes of the file.

    Characters of several bytes come about by chance hardly ever: a few broken ones among them are damage.
    """
    for bom, name in BOMS:
        if head.startswith(bom):
            return name
    if wide := _without_bom(head):
        return wide
    try:
        codecs.getincrementaldecoder("utf-8")().decode(head)
    except UnicodeDecodeError:
        text = head.decode("utf-8", errors="replace")
        broken = text.count("\ufffd")
        whole = sum(not character.isascii() for character in text) - broken
        return "utf-8" if whole > SOUND * broken else "cp1252"
    return "utf-8"


def _without_bom(head: bytes) -> str:
    """Text that is mostly ASCII has a zero in every second byte of UTF-16."""
    head = _ZEROS.split(head, 1)[0]  # what is set aside behind the text says nothing
    even, odd = head[0::2], head[1::2]
    if len(odd) < 4:
        return ""
    zeros_even, zeros_odd = even.count(0) / len(even), odd.count(0) / len(odd)
    if zeros_odd > 0.6 and zeros_even < 0.05:
        return "utf-16-le"
    return "utf-16-be" if zeros_even > 0.6 and zeros_odd < 0.05 else ""


def inner_encoding(encoding: str) -> str:
    """What the blocks are in: UTF-16 becomes UTF-8, the others stay as they are."""
    return "utf-8" if encoding.startswith("utf-16") else encoding


def pieces(source: Source, encoding: str) -> Iterator[bytes]:
    """Bytes in the inner encoding; a carriage return ends a line, with a line feed behind it or alone."""
    decoder = codecs.getincrementaldecoder(encoding)(errors="replace") if encoding.startswith("utf-16") else None
    first, held = True, b""
    while True:
        piece = source.read(PIECE)
        ended = not piece
        if decoder is not None:
            piece = decoder.decode(piece, ended).removeprefix("\ufeff" if first else "").encode("utf-8")
        elif first:
            piece = piece.removeprefix(codecs.BOM_UTF8)
        first = False
        piece, held = held + piece, b""
        if piece.endswith(b"\r") and not ended:  # what follows it tells what it is
            piece, held = piece[:-1], b"\r"
        if piece:
            yield _with_feeds(shortened(piece))
        if ended:
            return


def _with_feeds(piece: bytes) -> bytes:
    """Each line end one line feed. "\\r\\r\\n" is what some transfers make of one line end."""
    if b"\r" not in piece:
        return piece
    return piece.replace(b"\r\r\n", b"\n").replace(b"\r\n", b"\n").replace(b"\r", b"\n")


def blocks(source: Source, encoding: str, *, lines: int, first_line: int = 1) -> Iterator[tuple[Block, bool]]:
    """Blocks of up to ``lines`` lines from ``first_line`` on, each with whether it is the last.

    Raises Unreadable for a line longer than a log can have.
    """
    previous: Block | None = None
    for raw, number in _cut(pieces(source, encoding), lines, first_line):
        if previous is not None:
            yield previous, False
        previous = make_block(raw, number, inner_encoding(encoding))
    if previous is not None:
        yield previous, True


def _cut(stream: Iterator[bytes], lines: int, first_line: int) -> Iterator[tuple[bytes, int]]:
    """Whole lines, fewer than ``lines`` where they are long; the lines before ``first_line`` are left out."""
    rest, number, target = b"", 1, 0
    for piece in stream:
        rest += piece
        if len(rest) < target:
            continue
        while rest:
            passing = number < first_line
            wanted = first_line - number if passing else lines
            end, count = _nth_line_end(rest, wanted)
            if not count or (count < wanted and not passing and len(rest) < MOST_BYTES):
                break
            if not passing:
                yield rest[:end], number
                target = min(end, MOST_BYTES) * 9 // 10
            number, rest = number + count, rest[end:]
        if len(rest) > LONGEST_LINE and b"\n" not in rest[-LONGEST_LINE:]:
            raise refuse("line_too_long", "A line of this file is longer than a million characters: it is not a log.")
    yield from _last(rest, number, lines, first_line)


def _last(rest: bytes, number: int, lines: int, first_line: int) -> Iterator[tuple[bytes, int]]:
    """What is left at the end of the file, its last line with or without a line feed."""
    while rest:
        passing = number < first_line
        end, count = _nth_line_end(rest, first_line - number if passing else lines)
        if not count:
            end, count = len(rest), 1
        if not passing:
            yield rest[:end], number
        number, rest = number + count, rest[end:]


def _nth_line_end(text: bytes, wanted: int) -> tuple[int, int]:
    """The place behind the ``wanted``-th line feed, or behind the last one; and how many there were."""
    if wanted < 64:
        end = count = 0
        while count < wanted and (at := text.find(b"\n", end)) >= 0:
            end, count = at + 1, count + 1
        return end, count
    line_ends = text.count(b"\n")
    if line_ends < wanted:
        return text.rfind(b"\n") + 1, line_ends
    feeds = np.flatnonzero(np.frombuffer(text, dtype=np.uint8) == 10)
    return int(feeds[wanted - 1]) + 1, wanted
