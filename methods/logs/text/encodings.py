"""Which encodings a text that is not Unicode can be in.

Letters, digits and marks of ASCII are the same in all of them, so that no number or date hangs on the choice: only what
columns are called, and units with signs of their own. An encoding that gives no text as people write it is out of the
question; among the others the words of the file decide, or a person.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import replace

from methods.logs.types import Column

#: By name of the codec, the usual first: for Western Europe, Cyrillic, and East Asia.
ENCODINGS: dict[str, str] = {
    "cp1252": "Western European (Windows-1252)", "cp850": "Western European (code page 850)",
    "cp437": "Western European (code page 437)", "cp1251": "Cyrillic (Windows-1251)", "koi8_r": "Cyrillic (KOI8-R)",
    "gb18030": "Chinese (GB18030)", "big5": "Chinese (Big5)", "cp932": "Japanese (Shift JIS)",
    "euc_jp": "Japanese (EUC-JP)", "cp949": "Korean (code page 949)",
}  # fmt: skip
#: In these the second byte of a character may be that of an ASCII one, of a bar for instance, from this one on.
LOWEST_SECOND = "@"
TWO_BYTES = frozenset(("gb18030", "big5", "cp932", "cp949"))
USUAL = "cp1252"
#: So many different lines with other than ASCII characters are looked at.
MOST_LINES = 200
#: Of rare characters an East Asian text has fewer than this.
RARE = 0.4

_WORD = re.compile(r"[^\W\d_]+")
#: A sign where none is written: between two letters of an alphabet.
_INSIDE = re.compile(r"[A-Za-z\u00c0-\u04ff]([^\x00-\x7f\w\s\u00b0\u00b7\u2013\u2019\u02bc])[A-Za-z\u00c0-\u04ff]")
_HALF_KANA = re.compile(r"[A-Za-z][\uff61-\uff9f]|[\uff61-\uff9f][A-Za-z]")
_HAN = re.compile(r"[\u3400-\u9fff\uf900-\ufaff\U00020000-\U0003ffff]")
_CYRILLIC = re.compile(r"[\u0400-\u04ff]")
_LATIN = re.compile(r"[A-Za-z\u00aa\u00ba-\u024f]")
_HANGUL = re.compile(r"[\uac00-\ud7a3]")
_TURNED = re.compile(r"[а-яё][А-ЯЁ]")


def encodings_of(raw: bytes) -> tuple[str, ...]:
    """The encodings in which ``raw``, whole lines, is text as people write it; the usual one where there is none.

    Which of them it is does not matter where the foreign characters stand in nobody's way: the caller looks at what
    becomes of the names of columns.
    """
    lines = b"\n".join(list(dict.fromkeys(line for line in raw.split(b"\n") if not line.isascii()))[:MOST_LINES])
    return tuple(name for name in ENCODINGS if _is_written_in(lines, name)) or (USUAL,)


def decodes(raw: bytes, encoding: str) -> bool:
    """Whether ``raw``, whole lines, can be in ``encoding`` at all."""
    try:
        raw.decode(encoding)
    except (UnicodeDecodeError, LookupError):
        return False
    return True


def recoded(text: str, before: str, after: str) -> str:
    """``text``, decoded as ``before``, as it reads in ``after``; unchanged where that cannot be."""
    try:
        return text.encode(before).decode(after)
    except (UnicodeError, LookupError):
        return text


def renamed(column: Column, before: str, after: str) -> Column:
    """``column`` as it is called in ``after``."""
    return replace(column, name=recoded(column.name, before, after), key=recoded(column.key, before, after))


def _is_written_in(lines: bytes, encoding: str) -> bool:
    if not decodes(lines, encoding):
        return False
    text = lines.decode(encoding)
    return all(map(_is_shown, set(text))) and _is_spelled(text) and _is_usual(text, encoding)


def _is_shown(character: str) -> bool:
    """No control character, nothing private or unassigned, no lines and blocks of drawn frames."""
    if character.isascii():
        return True
    return unicodedata.category(character) not in ("Cc", "Cn", "Co", "Cs") and not "\u2500" <= character <= "\u259f"


def _is_spelled(text: str) -> bool:
    return (
        _INSIDE.search(text) is None and _HALF_KANA.search(text) is None and all(map(_is_a_word, _WORD.findall(text)))
    )


def _is_a_word(word: str) -> bool:
    """One alphabet, no capital after a small letter of Cyrillic, not mostly accents, no small letters beside Han."""
    if word.isascii():
        return True
    latin, cyrillic, han = (bool(pattern.search(word)) for pattern in (_LATIN, _CYRILLIC, _HAN))
    if (latin and cyrillic) or _TURNED.search(word):
        return False
    if han or _HANGUL.search(word):
        return not cyrillic and word.upper() == word
    accents = sum(not c.isascii() for c in word)
    return not latin or len(word) < 3 or accents <= len(word) / 2


def _lead(encoding: str) -> Callable[[str], int]:
    """The first byte of a character, 0 where it has none in that character set."""

    def lead(character: str) -> int:
        try:
            return character.encode(encoding)[0]
        except UnicodeEncodeError:
            return 0

    return lead


#: The character set and the first bytes of its characters in daily use (the first level of GB 2312 and JIS X 0208, the
#: frequently used of Big5, Hangul of KS X 1001).
_USUAL = {
    "gb18030": ("gb2312", 0xB0, 0xD7), "big5": ("big5", 0xA4, 0xC6), "cp932": ("cp932", 0x88, 0x98),
    "euc_jp": ("euc_jp", 0xB0, 0xCF), "cp949": ("euc_kr", 0xB0, 0xC8),
}  # fmt: skip


def _is_usual(text: str, encoding: str) -> bool:
    if encoding not in _USUAL:
        return True
    inner, first, last = _USUAL[encoding]
    lead = _lead(inner)
    characters = [c for c in text if _HAN.match(c) or _HANGUL.match(c)]
    return sum(not first <= lead(c) <= last for c in characters) <= RARE * len(characters)
