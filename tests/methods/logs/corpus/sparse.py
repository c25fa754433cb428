"""Tables in which most cells are empty: stamps × delimiters × how many cells hold something. Common practice, no
source; the words of the dates from CLDR, by Babel."""

from __future__ import annotations

import datetime as dt
import random
from collections.abc import Callable, Iterator

from babel.dates import format_datetime

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import LogCase, TrueReading
from tests.methods.logs.logs import clock, ms_of

Written = Callable[[dt.datetime], str]
LINES, START = 40, clock(2026, 3, 1, 10, 5)
KINDS = (("CO2 (ppm)", "co2", "ppm"), ("Temp (°C)", "temperature", "°C"), ("HCHO (ppm)", "formaldehyde", "ppm"))
#: Blanks within the stamp, and those that are no words.
WORDS = ("en", "de", "fr", "es", "pt", "pl")
EMPTY = (0.0, 0.3, 0.6, 0.8, 0.9)
DAY = "2026-03-01"


def _in_words(language: str, pattern: str) -> Written:
    return lambda moment: format_datetime(moment, pattern, locale=language)


STAMPS: dict[str, Written] = {
    **{f"a date in words, {language}": _in_words(language, "d MMMM y HH:mm") for language in WORDS},
    **{f"a day of the week, {language}": _in_words(language, "EEE d MMM y HH:mm") for language in WORDS[:3]},
    "a date in words, month first": _in_words("en", "MMM d, y HH:mm"),
    "numbers": lambda moment: f"{moment:%Y-%m-%d %H:%M}",
    "a time with a word": lambda moment: f"{moment:%H:%M} Uhr",
}


def _values(n: int) -> tuple[str, str, str]:
    return str(412 + n), f"{20 + n / 10:.1f}", f"0.{30 + n:03d}"


def _table(stamp: Written, delimiter: str, share: float, seed: int) -> tuple[str, frozenset[TrueReading]]:
    rolled, truth = random.Random(seed), []
    lines = [delimiter.join(("Time", *(name for name, _, _ in KINDS)))]
    for n in range(LINES):
        moment, cells = START + n * dt.timedelta(minutes=1), []
        for (_, parameter, unit), text in zip(KINDS, _values(n), strict=True):
            there = rolled.random() >= share or (n == LINES // 2 and parameter == "co2")
            cells.append(text if there else "")
            truth += [TrueReading(ms_of(moment), parameter, unit, float(text))] if there else []
        lines.append(delimiter.join((stamp(moment), *cells)))
    return "\n".join(lines) + "\n", frozenset(truth)


def sparse() -> Iterator[LogCase]:
    """Each kind of stamp with two delimiters, and every share of empty cells."""
    answers = by_code({"start": DAY})
    for kind, (name, stamp) in enumerate(STAMPS.items()):
        marks = ";\t|" if "month first" in name else ";\t|,"
        for share in EMPTY:
            for delimiter in (marks + marks)[kind % len(marks) :][:2]:
                text, truth = _table(stamp, delimiter, share, kind)
                case = f"empty cells: {share:.0%} beside {name}, {delimiter!r}"
                yield LogCase(case, text.encode(), truth, answers)
