"""Serial numbers that a logger wrote above its data."""

from __future__ import annotations

import re
from collections.abc import Iterable

_LABEL = (
    r"(?:\bserien[\s-]?(?:nummer|nr)|\bser(?:ial|\.)?[\s_-]*(?:no|nr|num(?:ber|ero)?|#)?|\bs\s?/\s?n|\bsn|"
    r"n(?:°|º|o\.?|um[ée]ro|[úu]mero) de s[ée]rie|n(?:umero|\.|°)? ?di serie|matricola|serie(?:nummer)?|"
    r"(?:nr|numer) seryjny|sarjanumero|シリアル(?:番号|ナンバー)?|序列号|"
    r"\b(?:device|instrument|logger|unit|meter|sensor|probe|ger[äa]te?|appareil)[\s_-]*(?:id|no|nr|number|nummer|#))"
)
_SERIAL = re.compile(
    _LABEL + r"(?![^\W\d_])[\s.:;,=#\t\"'|-]*(?P<serial>[A-Za-z0-9][A-Za-z0-9/_.-]{1,30})", re.IGNORECASE
)
MOST = 10


def is_serial_name(name: str) -> bool:
    """Whether a column of this name holds serial numbers."""
    return re.search(_LABEL + r"\W*$", name[:100], re.IGNORECASE) is not None


def find_serials(lines: list[str]) -> tuple[str, ...]:
    """Candidates in the order of ``lines``; words without a digit are none."""
    serials = (match["serial"].rstrip("._-/") for line in lines for match in _SERIAL.finditer(line[:500]))
    return with_digits(serials)


def with_digits(serials: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in serials if any(c.isdigit() for c in text)))[:MOST]
