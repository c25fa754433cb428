"""Which substance a piece of text names: the aliases of the table of substances, in several languages."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from functools import cache

from methods.quantities.header_words import LONGEST_NAME, fold, joined, tokens
from methods.quantities.substances import SUBSTANCES

__all__ = ["codes_by_word", "fold", "parameter_of", "parameters_in", "tokens"]

#: Beside these a substance is only what a sum of compounds is counted as ("as toluene equivalents").
_COUNTED_AS = frozenset(
    ["as", "als", "eq", "equiv", "equivalent", "equivalents", "equivalente", "aquivalent", "aquivalente"]
)
_LETTER = re.compile(r"[A-Za-z]")


@cache
def codes_by_word() -> dict[str, str]:
    """Aliases, folded and without blanks → the substance. The table gives none to two of them."""
    return {joined(word): substance.code for substance in SUBSTANCES.values() for word in substance.words}


@cache
def single_words() -> frozenset[str]:
    """All words, folded, that names of substances are made of."""
    return frozenset(word for substance in SUBSTANCES.values() for name in substance.words for word in tokens(name))


@cache
def _stems() -> dict[str, str]:
    """Parts of long words that decide ("Raumlufttemperatur")."""
    return {stem: substance.code for substance in SUBSTANCES.values() for stem in substance.stems}


@cache
def _sizes() -> tuple[re.Pattern[str], dict[str, str]]:
    """How particles up to a size are written ("PM2.5", "pm2_5", "Feinstaub 10"), and the substance of each size."""
    sizes = {s.size: s.code for s in SUBSTANCES.values() if s.size}
    spelled = "|".join(f"(?P<pm{n}>{_spelled(size)})" for n, size in enumerate(sizes))
    pattern = re.compile(rf"\b(?:pm|feinstaub|fine dust)[\s_.-]*(?:{spelled})(?![0-9.])", re.I)
    return pattern, {f"pm{n}": code for n, code in enumerate(sizes.values())}


def _spelled(size: str) -> str:
    """2.5 may be written without its point; 1 with a decimal, but PM1.5 and PM1-10 are not PM1."""
    if "." in size:
        return size.replace(".", "[.,_ ]?")
    return size if len(size) > 1 else rf"{size}(?:[.,_]0|(?![.,]|[_-][0-9]))"


def parameter_of(text: str) -> str | None:
    """The one parameter that ``text`` names; None for none, and for more than one."""
    if text.isascii() and not _LETTER.search(text):
        return None
    pattern, by_group = _sizes()
    found = {by_group[match.lastgroup] for match in pattern.finditer(text) if match.lastgroup}
    words = tokens(pattern.sub(" ", text))
    found |= _whole_words(words)
    if len(found) > 1 or _COUNTED_AS.intersection(words):
        found -= _only_counted_as(found, words)
    return found.pop() if len(found) == 1 else None


def parameters_in(texts: Iterable[str]) -> int:
    """How many of ``texts`` name one; each is looked at once, however often it stands there."""
    return sum(count for text, count in Counter(texts).items() if parameter_of(text) is not None)


def _whole_words(words: list[str]) -> set[str]:
    """Substances that whole words name, the longest name first ("ethyl benzene" is no benzene); then by stems."""
    known, found, left = codes_by_word(), set(), list(words)
    for size in range(LONGEST_NAME, 0, -1):
        for i in range(len(left) - size + 1):
            name = "".join(left[i : i + size])
            code = known.get(name) if all(left[i : i + size]) else None
            if code and (len(words) == 1 or len(name) > 1):
                found.add(code)
                left[i : i + size] = [""] * size
    return found | {code for word in left for stem, code in _stems().items() if stem in word}


def _only_counted_as(found: set[str], words: list[str]) -> set[str]:
    """Of ``found``, those a sum of compounds is expressed as: beside the sum, or a word that says so, no names."""
    sums = [s for s in SUBSTANCES.values() if s.is_sum and (s.code in found or _COUNTED_AS.intersection(words))]
    return {code for s in sums for code in s.equivalents}
