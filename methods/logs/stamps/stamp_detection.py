"""What date and time format a column of text is in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from methods.logs.stamps.calendar_words import MONTHS, half_of, is_month, languages_for
from methods.logs.stamps.interval_stamps import doubtful, interval_formats, is_open
from methods.logs.stamps.stamp_formats import MONTH_WORD, compiled, in_language
from methods.logs.stamps.zone_names import NAMED_ZONES

_DATES = (
    (re.compile(r"\d{4}([-/. ])\d{1,2}\1\d{1,2}(?!\d)"), ("%Y{0}%m{0}%d",)),
    (re.compile(r"\d{4}년( ?)\d{1,2}월\1\d{1,2}일"), ("%Y년{0}%m월{0}%d일",)),
    (re.compile(r"\d{4}年( ?)\d{1,2}月\1\d{1,2}日"), ("%Y年{0}%m月{0}%d日",)),
    (re.compile(r"\d{4}(\. ?)\d{1,2}\1\d{1,2}\."), ("%Y{0}%m{0}%d.",)),
    (re.compile(r"\d{1,2}([-/. ])\d{1,2}\1\d{4}(?!\d)"), ("%d{0}%m{0}%Y", "%m{0}%d{0}%Y")),
    (re.compile(r"\d{2}([-/.])\d{1,2}\1\d{2}(?!\d)"), ("%d{0}%m{0}%y", "%m{0}%d{0}%y", "%y{0}%m{0}%d")),
    (re.compile(r"\d{1}([-/.])\d{1,2}\1\d{2}(?!\d)"), ("%d{0}%m{0}%y", "%m{0}%d{0}%y")),
    (re.compile(r"\d{4}([-/. ])\d{3}(?!\d)"), ("%Y{0}%j",)),
    (re.compile(r"\d{7}(?!\d)"), ("%Y%j",)),
    (re.compile(r"\d{8}(?!\d)"), ("%Y%m%d",)),
    (re.compile(r"\d{8}(?=\d{4}(?:\d{2})?(?:\D|$))"), ("%Y%m%d",)),
)
#: As ``%b`` reads it: some languages write "3 de març".
_MONTH = rf"(?:de )?(?P<b>{MONTH_WORD})(\.?)"
_NAMED = (
    (re.compile(rf"\d{{1,2}}(\.?[-/. ]?){_MONTH}( del? |[-/., ]{{1,2}})(\d{{4}}|\d{{2}})(?!\d)"), "d"),
    (re.compile(rf"{_MONTH}([-/., ]{{1,2}})\d{{1,2}}(,? ?[-/., ])(\d{{4}}|\d{{2}})(?!\d)"), "b"),
    (re.compile(rf"\d{{4}}(\.?[-/. ]){_MONTH}([-/. ])\d{{1,2}}(?!\d)"), "Y"),
)
_NO_YEAR = (
    (re.compile(r"\d{1,2}([-/.])\d{1,2}(\.?)(?!\d)"), ("%d{0}%m{1}", "%m{0}%d{1}")),
    (re.compile(rf"\d{{1,2}}(\.?[-/. ]?)(?:de )?(?P<b>{MONTH_WORD})(\.?)(?!\w)"), ("%d{0}%b",)),
    (re.compile(rf"(?P<b>{MONTH_WORD})(\.?[-/. ])\d{{1,2}}(?!\d)"), ("%b{1}%d",)),
)
#: Also a word for "at" before the time of day.
_BETWEEN = re.compile(r",? (?:[Kk]lo|[Kk]l\.?|um|at) (?=\d)| - |, ?|\. | ?[Tt_](?=\d)| |")
#: A word for the half of the day, before or behind the time.
_HALF_BEFORE = re.compile(r"([^\W\d_][^\d:;|]{0,23}?)(\s?)(?=\d)")
_HALF_BEHIND = re.compile(r"(?<=\d)(\s?)([^\W\d_][^\d:;|]{0,23})$")
_WEEKDAY = re.compile(r"[^\W\d_]{2,10}\.?,? (?=\S*\d)")
_TIME = re.compile(
    r"\d{1,2}(?P<s1>[:.hH])\d{2}(?:(?P<s2>[:.mM'])\d{2}(?P<f>[.,:]\d{1,9})?)?(?P<tail>[msMS]| ?Uhr|\"|'')?"
    r"(?P<b1>\s?)(?P<p>[aApP]\.?\s?[mM]\.?)?(?P<b2>\s?)"
    rf"(?P<z>[Zz]|(?:UTC|GMT)?\s?[+-]\d{{1,2}}:?(?:\d{{2}})?|UTC|GMT|{NAMED_ZONES})?(?!\w)"
)
#: Hours, minutes and seconds each with a word behind it, as in Chinese, Japanese and Korean; minutes may be left out.
_WORDED_TIME = re.compile(
    r"\d{1,2}(?P<h>[時时點点시])(?:(?P<b>\s?)\d{1,2}(?P<m>[分분])(?:(?P<b2>\s?)\d{1,2}(?P<s>[秒초]))?)?"
)
_COMPACT_TIME = re.compile(
    rf"(?P<d>\d{{6}}(?P<f>[.,]\d{{1,9}})?|\d{{4}})(?P<z>[Zz]|[+-]\d{{2}}:?(?:\d{{2}})?|UTC|GMT|{NAMED_ZONES})?(?!\w)"
)
#: Share of a column's cells that must be of one format.
ENOUGH = 0.6


@dataclass(frozen=True, slots=True)
class Fit:
    """A format and the share of cells it reads. ``kind`` is "datetime", "date" or "time"."""

    text: str
    share: float
    kind: str


def fits(cells: Iterable[str]) -> list[Fit]:
    """Formats that read at least ENOUGH of ``cells``, best first; day-first before month-first.

    Where the names of months mean other months in several languages, the format names none, and reads none of them.
    """
    return _fits(cells, formats_of)


def fits_without_year(cells: Iterable[str]) -> list[Fit]:
    """The same of dates that name no year, with or without a time; not of what may be a number ("18.05")."""
    return _fits(cells, formats_without_year)


def _fits(cells: Iterable[str], ways: Callable[[str], Iterator[str]]) -> list[Fit]:
    texts = [" ".join(cell.split()) for cell in cells if cell.strip()]
    candidates = dict.fromkeys(form for text in texts[:40] for form in ways(text))
    matching = []
    for form in candidates:
        languages = languages_of(form, texts)
        tried = in_language(form, languages[0])
        share = sum(compiled(tried).parse(text) is not None for text in texts) / len(texts)
        if share >= ENOUGH:
            matching.append(Fit(tried if len(languages) == 1 else form, share, kind_of(form)))
    wrong = doubtful([fit.text for fit in matching], texts)
    return sorted((fit for fit in matching if fit.text not in wrong), key=lambda fit: -fit.share)


def languages_of(form: str, cells: Iterable[str]) -> tuple[str, ...]:
    """The languages that the names of months in ``cells`` can be of; ("",) where none has to be named."""
    if "%b" not in form:
        return ("",)
    bare = compiled(in_language(form, ""))
    return languages_for({word for cell in cells if (word := bare.month_word(cell)) and is_month(word)})


def kind_of(form: str) -> str:
    has_date = "%d" in form or "%j" in form
    has_time = "%H" in form or "%I" in form or "%<" in form
    return "datetime" if has_date and has_time else ("date" if has_date else "time")


def formats_of(text: str) -> Iterator[str]:
    """Every format that could read ``text``."""
    if len(text) > 60 or not any(c.isdigit() for c in text):
        return
    weekday = _WEEKDAY.match(text)
    if weekday and weekday[0].strip(" .,").casefold() not in MONTHS:
        yield from (f"%a {form}" for form in formats_of(text[weekday.end() :]))
    for date, rest in _date_formats(text):
        if not rest:
            yield date
        between = _BETWEEN.match(rest)
        if rest and between:
            tail = rest[between.end() :]
            yield from (f"{date}{between[0]}{time}" for time in _behind(between[0], tail))
    yield from _time_formats(text, compact=False)
    yield from _time_first(text)


def formats_without_year(text: str) -> Iterator[str]:
    """Every format without a year that could read ``text``."""
    if len(text) > 60:
        return
    for pattern, forms in _NO_YEAR:
        match = pattern.match(text)
        if match is None or ("%b" in forms[0] and not is_month(match["b"])):
            continue
        rest = text[match.end() :]
        if not rest and (match[0].endswith(".") or not re.fullmatch(r"\d+\.\d+", match[0])):
            yield from (form.format(*match.groups()) for form in forms)
        between = _BETWEEN.match(rest)
        if rest and between and between[0]:
            times = list(_time_formats(rest[between.end() :], compact=False))
            yield from (
                f"{form.format(*match.groups())}{between[0]}{t}" for form in forms for t in times if "%z" not in t
            )


def _time_first(text: str) -> Iterator[str]:
    match = _TIME.match(text)
    if match and len(match[0]) < len(text) and ":" in match[0]:
        between = _BETWEEN.match(text, match.end())
        head = match[0].rstrip()
        gap = text[len(head) : between.end() if between else match.end()]
        for date, rest in _date_formats(text[len(head) + len(gap) :]):
            if not rest and gap:
                yield from (f"{time}{gap}{date}" for time in _time_formats(head, compact=False))


def _behind(between: str, text: str) -> Iterator[str]:
    """Formats of a time behind a date; behind a "T" no interval (ISO 8601: its ends are parted by a slash)."""
    if between or text:
        yield from (
            form for form in _time_formats(text, compact=True) if "T" not in between.upper() or not is_open(form)
        )


def _date_formats(text: str) -> Iterator[tuple[str, str]]:
    for pattern, forms in _DATES:
        if match := pattern.match(text):
            separator = match[1] if pattern.groups else ""
            yield from ((form.format(separator), text[match.end() :]) for form in forms)
    for pattern, first in _NAMED:
        match = pattern.match(text)
        if match and is_month(match["b"]):
            yield _named_format(match, first), text[match.end() :]


def _named_format(match: re.Match[str], first: str) -> str:
    """The point behind a short month name belongs to ``%b``."""
    if first == "Y":
        return f"%Y{match[1]}%b{match[4]}%d"
    year = "%Y" if len(match[5]) == 4 else "%y"
    if first == "d":
        return f"%d{match[1]}%b{match[4]}{year}"
    return f"%b{match[3]}%d{match[4]}{year}"


def _time_formats(text: str, *, compact: bool) -> Iterator[str]:
    yield from interval_formats(text, compact=compact)
    match = _TIME.fullmatch(text)
    if match:
        hour = "%I" if match["p"] else "%H"
        seconds = f"{match['s2']}%S" if match["s2"] else ""
        half = f"{match['b1'] and ' '}%p" if match["p"] else ""
        zone = f"{(match['b1'] or match['b2']) and ' '}%z" if match["z"] else ""
        if match["z"] and match["p"]:
            zone = f"{match['b2'] and ' '}%z"
        yield f"{hour}{match['s1']}%M{seconds}{match['tail'] or ''}{half}{zone}"
    elif match := _WORDED_TIME.fullmatch(text):
        yield _worded_format(match)
    elif compact and (match := _COMPACT_TIME.fullmatch(text)):
        yield ("%H%M" if len(match["d"]) == 4 else "%H%M%S") + ("%z" if match["z"] else "")
    elif (before := _HALF_BEFORE.match(text)) and half_of(before[1]):
        yield from (f"%p{before[2] and ' '}{form}" for form in _half_days(text[before.end() :]))
    elif (behind := _HALF_BEHIND.search(text)) and half_of(behind[2]):
        yield from (f"{form}{behind[1] and ' '}%p" for form in _half_days(text[: behind.start()]))


def _worded_format(match: re.Match[str]) -> str:
    minute = f"{match['b'] and ' '}%M{match['m']}" if match["m"] else ""
    second = f"{match['b2'] and ' '}%S{match['s']}" if match["s"] else ""
    return f"%H{match['h']}{minute}{second}"


def _half_days(text: str) -> Iterator[str]:
    """Formats of a time of twelve hours without its half."""
    match = _TIME.fullmatch(text)
    if _WORDED_TIME.fullmatch(text) or (match and not (match["p"] or match["z"] or match["tail"])):
        yield from (form.replace("%H", "%I") for form in _time_formats(text, compact=False))
