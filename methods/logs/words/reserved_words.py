"""Words of headers that no substance may have as an alias, because they say something else there."""

from __future__ import annotations

from methods.logs.words import substance_words, vocabulary
from methods.logs.words.substance_words import codes_by_word
from methods.logs.words.unit_spellings import read_unit
from methods.quantities.substances import SUBSTANCES, TABLE, SubstanceDataError


def reserved() -> frozenset[str]:
    """Every word that reading a header looks for, but for those of substances."""
    named = [*vars(vocabulary).items(), *vars(substance_words).items()]
    return frozenset().union(*(words for name, words in named if name.isupper() and isinstance(words, frozenset)))


def check() -> None:
    """Raises SubstanceDataError where the table of substances claims one of them, or a unit: asked at the start."""
    kept = reserved()
    for word, code in codes_by_word().items():
        if word in kept:
            raise SubstanceDataError(TABLE.name, code, "aliases", f"{word!r} says something else in a header")
    for substance in SUBSTANCES.values():
        if unit := next(filter(read_unit, substance.words), None):
            raise SubstanceDataError(TABLE.name, substance.code, "aliases", f"{unit!r} is a unit")
