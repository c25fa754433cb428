"""Digits of all scripts and the wide forms of East Asian type as the plain characters that they stand for."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

#: Marks of numbers and dates outside ASCII. The Arabic decimal and thousands signs mean one thing only; commas are left
#: alone, because a file may part its columns by them. Directional marks are not to be seen and mean nothing here.
_MARKS = {
    "\u066b": ".", "\u066c": "'", "\u200e": "", "\u200f": "", "\u061c": "",
    **{chr(0xFEE0 + ord(c)): c for c in "!#$%&'()*+-./:<=>?@[]^_{}~" + "ABCDEFGHIJKLMNOPQRSTUVWXYZ"},
    **{chr(0xFEE0 + ord(c)): c for c in "abcdefghijklmnopqrstuvwxyz"},
}  # fmt: skip
#: Degrees and squared units, each one character ("℃", "㎎", "㎥").
_SQUARED = re.compile(r"[\u2103\u2109\u3371-\u33df]")


def plain(text: str) -> str:
    """``text`` with ASCII digits and marks for those of other scripts; letters and symbols of units stay."""
    return text if text.isascii() else "".join(map(_plain, text))


@lru_cache(maxsize=4096)
def _plain(character: str) -> str:
    if character in _MARKS:
        return _MARKS[character]
    digit = unicodedata.decimal(character, None)
    return character if digit is None else str(digit)


def spelled_out(text: str) -> str:
    """``text`` with the letters of units that are printed as one character: "℃" is "°C"."""
    return text if text.isascii() else _SQUARED.sub(lambda match: unicodedata.normalize("NFKC", match[0]), text)
