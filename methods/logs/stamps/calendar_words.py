"""Names of months and words for the halves of the day.

Those of a dozen languages are at hand; those of all others that CLDR knows stand in a table, which is read when a word
asks for it. What a word means in one language may be another month elsewhere: "lis" is November in Polish and October
in Croatian. Such words mean nothing without a language.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

TABLE = Path(__file__).parent / "data" / "calendar_words.tsv"

_MONTHS = (
    "jan janv januar january januari janvier enero gennaio gen ene janeiro jän jänner",
    "feb febr februar february februari février fevrier févr fév fev febrero febbraio fevereiro",
    "mar mär märz mrz march mars marzo março maart mrt maa",
    "apr april avril avr abril abr aprile",
    "may mai mayo maggio mag maio mei maj",
    "jun juni june juin junio giugno giu junho",
    "jul juli july juillet juil julio luglio lug julho",
    "aug august août aout aoû agosto ago augustus augusti",
    "sep sept september septembre septiembre settembre set setembro",
    "oct okt oktober october octobre octubre ottobre ott outubro out",
    "nov november novembre noviembre novembro",
    "dec dez dezember december décembre déc diciembre dic dicembre dezembro",
)
#: What needs no language: where another one has the word for another month (Teso "mar" is May), these prevail.
MONTHS: dict[str, int] = {word: number for number, words in enumerate(_MONTHS, 1) for word in words.split()}
#: What the vectorised path knows: the first three letters, where they are ASCII and mean one month.
MONTHS_3: dict[bytes, int] = {word.encode(): n for word, n in MONTHS.items() if len(word) == 3 and word.isascii()}


@dataclass(frozen=True, slots=True)
class CalendarWords:
    """``months`` of each language by its code, ``names`` of the languages in English, ``halves`` "am" or "pm"."""

    months: dict[str, dict[str, int]]
    names: dict[str, str]
    halves: dict[str, str]
    anywhere: dict[str, frozenset[int]]


@cache
def _all_words() -> CalendarWords:
    words = CalendarWords({}, {}, {}, {})
    numbers: dict[str, set[int]] = {}
    for line in TABLE.read_text(encoding="utf-8").splitlines()[1:]:
        code, *rest = line.split("\t")
        if len(rest) == 1:
            words.halves.update(dict.fromkeys(rest[0].split("|"), code))
            continue
        words.names[code] = rest[0]
        named = {word: n for n, month in enumerate(rest[1].split("|"), 1) for word in month.split()}
        words.months[code] = named
        for word, n in named.items():
            numbers.setdefault(word, set()).add(n)
    words.anywhere.update((word, frozenset(found)) for word, found in numbers.items())
    return words


def as_month(word: str) -> str:
    """``word`` as the table has it: without case, stop and the "of" of some languages."""
    folded = unicodedata.normalize("NFC", " ".join(word.split()).casefold()).rstrip(".")
    folded = folded.replace("ı", "i").replace("i\u0307", "i")  # Turkish capitals
    return folded.removeprefix("de ").removeprefix("d’").removeprefix("d'")


def as_half(word: str) -> str:
    """``word`` as the table has it: without case, stops and blanks."""
    return unicodedata.normalize("NFC", "".join(word.split()).casefold()).replace(".", "")


@lru_cache(maxsize=4096)
def month_of(word: str, language: str = "") -> int:
    """The number of the month in the language of that code, 0 = none.

    Without a language, of words that mean one month wherever they are known.
    """
    word = as_month(word)
    if language:
        return _all_words().months.get(language, {}).get(word, 0)
    if number := MONTHS.get(word):
        return number
    found = _all_words().anywhere.get(word, frozenset())
    return next(iter(found)) if len(found) == 1 else 0


@lru_cache(maxsize=4096)
def is_month(word: str) -> bool:
    """Whether it is a month in some language."""
    return as_month(word) in MONTHS or as_month(word) in _all_words().anywhere


def half_of(word: str) -> str:
    """ "am", "pm", or "" for what is neither, or not the same everywhere."""
    return _all_words().halves.get(as_half(word), "") if len(word) <= 24 else ""


def languages_for(words: Iterable[str]) -> tuple[str, ...]:
    """Codes of the languages in which ``words`` can be months; ("",) where none has to be named.

    They have to know all of the words; where no language does, those count that know the ambiguous ones.
    """
    asked = {as_month(word) for word in words}
    if asked <= MONTHS.keys():
        return ("",)
    known = _all_words()
    able = [code for code, named in known.months.items() if asked <= named.keys()]
    plain = {word: month_of(word) for word in asked}
    if not able:
        unclear = {word for word, number in plain.items() if not number and is_month(word)}
        if not unclear:
            return ("",)
        able = [code for code, named in known.months.items() if unclear <= named.keys()]
    readings = {code: {word: known.months[code].get(word, plain[word]) for word in asked} for code in able}
    return ("",) if all(reading == plain for reading in readings.values()) else tuple(sorted(able))


def language_name(code: str) -> str:
    """Of a language, in English."""
    return _all_words().names.get(code, code)
