"""The names of months and of the halves of the day in all languages of CLDR, as Babel has them.

``python -m`` writes the table that ``methods.logs.stamps.calendar_words`` reads.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from babel import Locale
from babel.localedata import locale_identifiers

from methods.logs.stamps.calendar_words import TABLE, as_half, as_month

Months = list[set[str]]
#: Words of Latin letters that are shorter stand in too many cells that are no dates.
SHORTEST = 3


def locales() -> Iterator[Locale]:
    yield from (Locale.parse(name) for name in locale_identifiers())


def is_word(word: str) -> bool:
    """One word without digits, stops or blanks, and long enough."""
    plain = not any(c.isdigit() or c.isspace() or c in '_.,:;/|+()"-\u200c' for c in word)
    return plain and len(word) >= (SHORTEST if "a" <= word[0] < "\u0250" else 2)


def months() -> dict[str, Months]:
    """For each language its twelve sets of names: in full and short, alone and within a date."""
    found: dict[str, Months] = defaultdict(lambda: [set() for _ in range(12)])
    for locale in locales():
        for context in locale.months:
            for width in ("wide", "abbreviated"):
                for number, name in locale.months[context].get(width, {}).items():
                    if word := as_month(name):
                        found[locale.language][number - 1] |= {word} if is_word(word) else set()
    return {language: names for language, names in found.items() if any(names)}


def halves() -> dict[str, set[str]]:
    """Words for before and after noon, but for single letters and those that are the other half elsewhere."""
    found: dict[str, set[str]] = {"am": set(), "pm": set()}
    for locale in locales():
        for context in locale.day_periods:
            for width in ("wide", "abbreviated"):
                for half in found:
                    found[half].add(as_half(locale.day_periods[context].get(width, {}).get(half, "")))
    both = found["am"] & found["pm"]
    return {half: {word for word in words - both if len(word) > 1 or word > "\u0370"} for half, words in found.items()}


def table() -> str:
    lines = ["# Made by tests.methods.logs.calendar_words from Babel's copy of CLDR: not written by hand."]
    for half, words in halves().items():
        lines.append(f"{half}\t{'|'.join(sorted(words))}")
    for language, names in sorted(months().items()):
        english = Locale.parse(language).get_display_name("en") or language
        lines.append(f"{language}\t{english}\t" + "|".join(" ".join(sorted(words)) for words in names))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    TABLE.write_text(table(), encoding="utf-8")
