"""Zero bytes in a text: space that a logger set aside beforehand, or what a power cut leaves of a line.

A few of them behind a cell only fill it up. Many in a row, or some before other characters, stand where bytes are lost:
what is left of such a line may be the end of another, and is not read.
"""

from __future__ import annotations

import re

#: What stands for a line of nothing but zero bytes, and for one that has them where characters are lost.
RESERVED, TORN = "\0", "\0\0"
#: More than this many in a row fill up no cell. Common practice, no source.
FILLING = 16
#: Longer runs are shortened on the way, so that reserved megabytes are no endless line.
LONGEST_RUN = 64

_LONG = re.compile(rb"\0{%d,}" % LONGEST_RUN)
_LOST = re.compile(rb"\0{%d}|\0[^\0;,\t| \"\r]" % (FILLING + 1))


def shortened(piece: bytes) -> bytes:
    """``piece`` with no longer runs of zero bytes than ``LONGEST_RUN``."""
    return _LONG.sub(b"\0" * LONGEST_RUN, piece) if b"\0" in piece else piece


def without_zeros(text: bytes) -> bytes:
    """``text`` with as many lines: zero bytes that fill up cells are blanks, other lines that have some are marks."""
    return b"\n".join(map(_line, text.split(b"\n"))) if b"\0" in text else text


def _line(line: bytes) -> bytes:
    if b"\0" not in line:
        return line
    if not line.strip(b"\0 \t\r"):
        return RESERVED.encode()
    return TORN.encode() if _LOST.search(line) else line.replace(b"\0", b" ")


def problem_code(line: str) -> str:
    """What is said of a line that zero bytes stand in; "" of any other."""
    return {RESERVED: "reserved_space", TORN: "torn_line"}.get(line, "")
