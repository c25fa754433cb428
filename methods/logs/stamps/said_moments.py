"""Dates and times in free text: in a line above the data or between them, in the name of a file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from methods.logs.stamps.date_order import orders
from methods.logs.stamps.stamp_detection import formats_of, kind_of
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.words.vocabulary import word_set, words_of
from methods.quantities.durations import DAY_MS

#: Words of a date and time at most ("Mon, 13 March 2024 06:00:00 PM"), and of a line that is looked at.
_MOST_WORDS, _MOST_LOOKED_AT, _LONGEST = 6, 30, 400
#: From when to when a log can be, for what stands somewhere in a text.
_YEARS = (631_152_000_000, 4_102_444_800_000)  # 1990 … 2100
#: Words of a line that says when the log began. General words of each language, from memory.
_START = word_set(
    "start started begin began beginning first startzeit startdatum beginn anfang debut demarrage depart inicio "
    "comienzo inizio avvio aanvang aanvangstijd starttijd startdato starttid oppstart"
)
_IN_NAMES = re.compile(
    r"(?<!\d)(?:(?P<y>(?:19|20)\d{2})(?P<s>[-_. ]?)(?P<m>\d{2})(?P=s)(?P<d>\d{2})"
    r"|(?P<a>\d{1,2})(?P<t>[-_. ])(?P<b>\d{1,2})(?P=t)(?P<c>(?:19|20)\d{2}))"
    r"(?:[T_ -]{1,3}(?P<hh>[012]\d)[-_.:h]?(?P<mm>[0-5]\d)(?:[-_.:m]?(?P<ss>[0-5]\d))?s?)?(?!\d)"
)
_YEAR = re.compile(r"(?<!\d)(?:19|20)\d{2}(?!\d)")


@dataclass(frozen=True, slots=True)
class SaidMoment:
    """``ms`` since 1970 on the logger's clock, of a date in ``form``; ``line`` 0 = the name of the file.

    ``has_time``: not a date alone. ``is_start``: beside words that say that the log began then.
    """

    ms: int
    form: str
    text: str
    line: int = 0
    has_time: bool = False
    is_start: bool = False

    @property
    def day_ms(self) -> int:
        return self.ms // DAY_MS * DAY_MS

    @property
    def where(self) -> str:
        return f"line {self.line}" if self.line else "the name of the file"


def moments_in(text: str, line: int = 0) -> list[SaidMoment]:
    """The dates, with or without a time, that ``text`` names, in each order in which they could be meant."""
    tokens = re.split(r"[\s;|\t]+", text[:_LONGEST])[:_MOST_LOOKED_AT]
    is_start = bool(_START & set(words_of(text[:_LONGEST])))
    found, at = [], 0
    while at < len(tokens):
        size, said = _longest(tokens, at)
        for ms, form, cell in said:
            found.append(SaidMoment(ms, form, cell, line, kind_of(form) == "datetime", is_start))
        at += size or 1
    return found


def _longest(tokens: list[str], at: int) -> tuple[int, list[tuple[int, str, str]]]:
    for size in range(min(_MOST_WORDS, len(tokens) - at), 0, -1):
        for cell in _ways(" ".join(tokens[at : at + size])):
            if said := list(_read(cell)):
                return size, said
    return 0, []


def _ways(text: str) -> Iterator[str]:
    """Without marks around it, and without a word and a mark before it ("Start:2024-03-13", "date=2024-03-13")."""
    plain = text.strip(" ,;:\"'()[]#*")
    yield plain
    _, mark, rest = plain.partition("=")
    if mark:
        yield rest.strip(" \"'")
    named = re.match(r"[^\W\d]+[.:](?=\d)|[^\W\d]+,(?=\d)", plain)
    if named:
        yield plain[named.end() :]
    if "," in plain:
        yield plain.replace(",", " ")


def _read(cell: str) -> Iterator[tuple[int, str, str]]:
    seen = set()
    for form in formats_of(cell):
        if (
            kind_of(form) not in ("datetime", "date")
            or "%z" in form
            or "%a" in form
            or (form in ("%Y%m%d", "%Y%j") and len(cell) != 8)
        ):
            continue
        for meant in orders(form):
            ms = compiled(meant).parse(cell)
            if ms is not None and _YEARS[0] <= ms < _YEARS[1] and ms not in seen:
                seen.add(ms)
                yield ms, meant, cell


def moments_in_name(name: str) -> list[SaidMoment]:
    """The same of the name of a file: "log_20240313_0800.csv"."""
    stem = name.rpartition(".")[0] or name
    for match in _IN_NAMES.finditer(stem):
        date = f"{match['y']}-{match['m']}-{match['d']}" if match["y"] else f"{match['a']}.{match['b']}.{match['c']}"
        time = f" {match['hh']}:{match['mm']}" + (f":{match['ss']}" if match["ss"] else "") if match["hh"] else ""
        if found := moments_in(date + time) or moments_in(date):
            return [replace(said, text=match[0]) for said in found]
    return moments_in(stem.replace("_", " "))


def years_in(text: str) -> list[int]:
    return [int(year) for year in _YEAR.findall(text[:_LONGEST])]


def date_form(form: str) -> str:
    """The part of a format of dates, alone or before a time, that is the date; "" where the time comes first."""
    times = [at for at in map(form.find, ("%H", "%I", "%<")) if at >= 0]
    return form[: min(times)].rstrip(" T_,-") if times else form


def date_in(text: str, form: str) -> int | None:
    """The midnight of the first date in ``form`` in a line between readings; None where there is none."""
    return next((said.day_ms for said in moments_in(text) if date_form(said.form) == form), None)


def unique(found: Iterable[SaidMoment]) -> list[SaidMoment]:
    """Those of a start first, then as they come; each moment once."""
    ranked = sorted(found, key=lambda said: not said.is_start)
    return list({said.ms: said for said in reversed(ranked)}.values())[::-1]
