"""Stamps as text: formats and how one cell is read with them.

A format is strptime-like: ``%Y %y %m %d %b %j %a %H %I %M %S %p %z``; fractions of a second are always allowed after
``%S``; a blank stands for any run of blanks. What strptime does not have is written in angles: ``%<hhmm>`` and
``%<hhmmss>`` are times of day as numbers, zeros in front left out or not (905 is five past nine); ``%<hours>`` and
``%<minutes>`` any number of them (``%<hours>:%M:%S``, ``%<minutes>:%S``); ``%<ms> %<s> %<min> %<h> %<d>`` a number of
such units: time that has gone by since midnight or since a start. Of an interval that is written with both ends,
``%<end>`` and ``%<begin>`` are the one that is not the stamp; it is ``%<open>`` while nobody has said which of the two
that is. Numbers that count from 1970 or 1900 are named: ``epoch_s``, ``epoch_ms``, ``epoch_us``, ``epoch_ns`` (POSIX)
and ``serial_1900``, ``serial_1904`` (days, as spreadsheets count them: check value Z-14). ``%b[hr]`` names the language
of the months, where their names mean other months elsewhere.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from itertools import pairwise

from methods.logs.stamps.calendar_words import half_of, month_of
from methods.logs.stamps.zone_names import MINUTES_EAST, NAMED_ZONES
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS
from methods.quantities.moments import EPOCH, MS

FIRST_YEAR, LAST_YEAR = 1900, 2199
EPOCH_DAY = EPOCH.toordinal()
#: No stamp is longer; patterns are not tried on hostile cells.
LONGEST = 80
#: Two-digit years: POSIX strptime's rule.
PIVOT = 69

#: What a spreadsheet's day 0 is, in days since 1970-01-01 (Z-14: the two systems lie 1 462 days apart).
SERIAL_DAY_0 = {"serial_1900": -25_569, "serial_1904": -24_107}
#: How many of each make a millisecond, or how many of those it is.
EPOCH_MS = {"epoch_s": 1000.0, "epoch_ms": 1.0, "epoch_us": 1e-3, "epoch_ns": 1e-6}
NUMERIC = frozenset(SERIAL_DAY_0) | frozenset(EPOCH_MS)
#: A day number of six decimals is up to 43 ms off its second, and spreadsheets show the second (common practice, no
#: source): a stamp that lies so near to one is of it.
NEAR_MS = 50

_ANY_WIDTH = {"m": r"\d{1,2}", "d": r"\d{1,2}", "H": r"\d{1,2}", "I": r"\d{1,2}", "M": r"\d{1,2}", "S": r"\d{1,2}"}
#: Units of time that has gone by, in milliseconds.
COUNT_MS = {"ms": 1, "s": 1000, "min": MINUTE_MS, "h": HOUR_MS, "d": DAY_MS}
#: The year of stamps that name none, until somebody says which it is: one with a 29th of February.
NO_YEAR = 2000
#: The other end of an interval: behind its stamp, before it, or behind it while nobody has said which end is the stamp.
END, BEGIN, OPEN = "%<end>", "%<begin>", "%<open>"
_OTHER_END = (
    r"(?P<{0}H>\d{{1,2}})[:hH]?(?P<{0}M>\d{{2}})(?:[:m]?(?P<{0}S>\d{{2}}))?(?:\s?(?P<{0}p>[aApP])\.?\s?[mM]\.?)?"
)
#: A name of a month, in letters of any script with their accents and vowel signs.
MONTH_WORD = r"[^\W\d_][^\s\d_.,:;/|+()\"-]{1,23}"
_PARTS = {
    "Y": r"(?P<Y>\d{4})",
    "y": r"(?P<y>\d{2})",
    "b": rf"(?:de\s)?(?P<b>{MONTH_WORD})\.?",
    "a": r"[^\W\d_]{2,12}\.?,?",
    "j": r"(?P<j>\d{1,3})",
    "<hhmm>": r"(?P<hhmm>\d{1,4})",
    "<hhmmss>": r"(?P<hhmmss>\d{1,6})",
    "<hours>": r"(?P<hours>\d{1,5})",
    "<minutes>": r"(?P<minutes>\d{1,6})",
    **{f"<{unit}>": rf"(?P<n_{unit}>\d{{1,12}}(?:[.,]\d{{1,12}})?)" for unit in COUNT_MS},
    **dict.fromkeys(("<end>", "<open>"), _OTHER_END.format("e")),
    "<begin>": _OTHER_END.format("b"),
    "p": r"(?:(?P<p>[aApP])\.?\s?[mM]\.?|(?P<pw>[^\W\d_][^\d:;|]{0,23}))",
    "z": rf"(?P<z>[Zz]|(?:UTC|GMT)?\s?(?P<zs>[+-])(?P<zh>\d{{1,2}}):?(?P<zm>\d{{2}})?|UTC|GMT|(?P<zn>{NAMED_ZONES}))",
}
_FRACTION = r"(?:[.,:](?P<f>\d{1,9}))?"
_TOKEN = re.compile(r"%(?P<directive><[a-z]+>|.)(?:(?<=b)\[(?P<language>[a-z]{2,8})\])?|(?P<literal>[^%])", re.DOTALL)
_LANGUAGE = re.compile(r"(?<=%b)\[[a-z]{2,8}\]")


def days_from_civil(year: int, month: int, day: int) -> int | None:
    """Days since 1970-01-01 in the Gregorian calendar; None if there is no such day or the year is implausible."""
    if not FIRST_YEAR <= year <= LAST_YEAR:
        return None
    try:
        return date(year, month, day).toordinal() - EPOCH_DAY
    except ValueError:
        return None


def days_from_ordinal(year: int, day: int) -> int | None:
    """Days since 1970-01-01 of the day of the year, counted from 1; None if there is no such day."""
    first, after = days_from_civil(year, 1, 1), days_from_civil(year + 1, 1, 1)
    if first is None or not 1 <= day <= (366 if after is None else after - first):
        return None
    return first + day - 1


def full_year(two_digits: int) -> int:
    return two_digits + (2000 if two_digits < PIVOT else 1900)


@dataclass(frozen=True, slots=True)
class StampFormat:
    """A compiled format. ``regex`` matches the whole stripped cell; ``has_zone`` = stamps carry their UTC offset;
    ``language`` is the code of the language of the months, where one has to be named."""

    text: str
    regex: re.Pattern[str] | None
    has_zone: bool = False
    language: str = ""

    def parse(self, cell: str) -> int | None:
        """Milliseconds since 1970-01-01T00:00:00 (of UTC if the format has ``%z``), or None."""
        if self.regex is None:
            return _from_number(cell, self.text)
        match = self._match(cell)
        return None if match is None else _from_match(match, self.language)

    def interval(self, cell: str) -> tuple[int, int] | None:
        """Of a format that names both ends of an interval, those of ``cell``: milliseconds after midnight."""
        match = self._match(cell)
        stamp, other = (_clock(match.groupdict()), _other_end(match.groupdict())) if match else (None, None)
        if stamp is None or other is None:
            return None
        return (other, stamp) if BEGIN in self.text else (stamp, other)

    def offset(self, cell: str) -> int | None:
        """Milliseconds by which the clock of ``cell`` is ahead of UTC; None where the cell cannot be read."""
        match = self._match(cell)
        return None if match is None else _offset(match.groupdict())

    def month_word(self, cell: str) -> str:
        """The name of the month in ``cell``, as written; "" where there is none."""
        match = self._match(cell) if "%b" in self.text else None
        return "" if match is None else match["b"]

    def _match(self, cell: str) -> re.Match[str] | None:
        cell = cell.strip() if cell.isascii() else " ".join(cell.split())
        return self.regex.fullmatch(cell) if self.regex is not None and len(cell) <= LONGEST else None


@lru_cache(maxsize=512)
def compiled(text: str) -> StampFormat:
    """The format of ``text``; raises ValueError for a directive that is not ours."""
    if text in NUMERIC:
        return StampFormat(text, None)
    found = list(_TOKEN.finditer(text.replace("\t", " ")))
    tokens = [(match["directive"], match["literal"]) for match in found]
    # a word before or behind digits, "午前9:05", leaves no doubt where they begin and end
    adjoining = {i for i, (a, b) in enumerate(pairwise(tokens)) if a[0] and b[0] and "p" not in (a[0], b[0])}
    parts = []
    for i, (directive, literal) in enumerate(tokens):
        if literal is not None:
            parts.append(r"\s+" if literal == " " else re.escape(literal))
        elif directive in _ANY_WIDTH:
            digits = r"\d{2}" if i in adjoining or i - 1 in adjoining else _ANY_WIDTH[directive]
            parts.append(f"(?P<{directive}>{digits})" + (_FRACTION if directive == "S" else ""))
        elif directive == "j" and (i in adjoining or i - 1 in adjoining):
            parts.append(r"(?P<j>\d{3})")
        elif directive == "%":
            parts.append("%")
        elif directive in _PARTS:
            parts.append(_PARTS[directive])
        else:
            raise ValueError(f"%{directive} is not a directive of a stamp format")
    language = next((match["language"] for match in found if match["language"]), "")
    wide = "%b" in text or "%p" in text
    try:
        return StampFormat(text, re.compile("".join(parts), 0 if wide else re.ASCII), "%z" in text, language)
    except re.error:
        raise ValueError("A directive stands twice in the stamp format.") from None


#: Groups that make a date, and groups that count.
DATE_PARTS = frozenset(("d", "b", "m", "Y", "y", "j"))
_COUNTS = frozenset(("hhmm", "hhmmss", *(f"n_{unit}" for unit in COUNT_MS)))


def in_language(form: str, language: str) -> str:
    """``form`` with the names of its months in ``language``, a code; "" = without one."""
    return _LANGUAGE.sub("", form).replace("%b", f"%b[{language}]" if language else "%b")


def _from_match(match: re.Match[str], language: str) -> int | None:
    groups = match.groupdict()
    days = _days(groups, language) if groups.keys() & DATE_PARTS else 0
    clock, offset = _clock(groups), _offset(groups)
    if days is None or clock is None or offset is None:
        return None
    if "bH" in groups or "eH" in groups:
        other = _other_end(groups)
        if other is None:
            return None
        clock += DAY_MS if "bH" in groups and clock <= other else 0  # the interval passes midnight
    return days * DAY_MS + clock - offset


def _other_end(groups: dict[str, str | None]) -> int | None:
    side = "b" if "bH" in groups else "e"
    hour = "I" if groups.get(f"{side}p") else "H"
    return _of_day({hour: groups.get(f"{side}H"), **{part: groups.get(f"{side}{part}") for part in "MSp"}})


def _days(groups: dict[str, str | None], language: str) -> int | None:
    year = NO_YEAR
    if "Y" in groups or "y" in groups:
        year = int(groups["Y"] or 0) if "Y" in groups else full_year(int(groups.get("y") or 0))
    if "j" in groups:
        return days_from_ordinal(year, int(groups["j"] or 0))
    month = month_of(groups["b"] or "", language) if "b" in groups else int(groups.get("m") or 0)
    return days_from_civil(year, month, int(groups.get("d") or 0))


def _clock(groups: dict[str, str | None]) -> int | None:
    """Milliseconds since midnight; 24:00 is the end of the day (ISO 8601:2004)."""
    counted = next((name for name in groups if name in _COUNTS), "")
    if counted.startswith("n_"):
        exact = float((groups[counted] or "0").replace(",", ".")) * COUNT_MS[counted[2:]]
        return round(exact) if exact < LAST_MS else None
    if counted in ("hhmm", "hhmmss"):
        number = int(groups[counted] or 0) * (100 if counted == "hhmm" else 1)
        groups = groups | {"H": f"{number // 10_000}", "M": f"{number // 100 % 100}", "S": f"{number % 100}"}
    if "minutes" in groups:
        whole = int(groups["minutes"] or 0)
        groups = groups | {"hours": f"{whole // 60}", "M": f"{whole % 60}"}
    beyond = int(groups.get("hours") or 0) // 24 * 24  # whole days of time that has gone by
    if "hours" in groups:
        groups = groups | {"H": f"{int(groups['hours'] or 0) - beyond}"}
    return None if (of_day := _of_day(groups)) is None else of_day + beyond * HOUR_MS


def _of_day(groups: dict[str, str | None]) -> int | None:
    hour = int(groups.get("H") or groups.get("I") or 0)
    minute, second = int(groups.get("M") or 0), int(groups.get("S") or 0)
    if "I" in groups:
        if not 1 <= hour <= 12:
            return None
        hour %= 12
    half = half_of(groups["pw"] or "") if groups.get("pw") else (groups.get("p") or "").lower()
    if half[:1] == "p":
        hour += 12
    elif groups.get("pw") and not half:
        return None
    fraction = int(((groups.get("f") or "") + "000")[:3])
    if minute > 59 or second > 59 or hour > 24 or (hour == 24 and (minute or second or fraction)):
        return None
    return ((hour * 60 + minute) * 60 + second) * 1000 + fraction


#: No clock is further ahead of UTC or behind it, and the minutes of all are among these (from memory).
MOST_AHEAD, MOST_BEHIND, OFFSET_MINUTES = 14 * 60, 12 * 60, (0, 30, 45)


def _offset(groups: dict[str, str | None]) -> int | None:
    """Milliseconds; None where no clock has such an offset."""
    if named := groups.get("zn"):
        return MINUTES_EAST[named.upper()] * MINUTE_MS
    if not groups.get("zs"):
        return 0
    minutes = int(groups["zh"] or 0) * 60 + int(groups["zm"] or 0)
    most = MOST_BEHIND if groups["zs"] == "-" else MOST_AHEAD
    if int(groups["zm"] or 0) not in OFFSET_MINUTES or minutes > most:
        return None
    return (-minutes if groups["zs"] == "-" else minutes) * MINUTE_MS


_NUMBER = re.compile(r"[+-]?(?:\d{1,19}(?:\.\d{0,20})?|\.\d{1,20})")


def _from_number(cell: str, kind: str) -> int | None:
    text = cell.strip().replace(",", ".", 1)
    if not _NUMBER.fullmatch(text, 0) or not text.isascii():
        return None
    return from_count(float(text), kind)


def from_count(count: float, kind: str) -> int | None:
    """A number of seconds, milliseconds or days as milliseconds; None outside the years a log can be of."""
    if kind in EPOCH_MS:
        ms = round(count * EPOCH_MS[kind])
    else:
        ms = to_near_second(round((count + SERIAL_DAY_0[kind]) * DAY_MS))
    return ms if FIRST_MS <= ms < LAST_MS else None


def to_near_second(ms: int) -> int:
    """``ms``, or the second that it is off by no more than ``NEAR_MS``."""
    second = (ms + 500) // 1000 * 1000
    return second if abs(ms - second) <= NEAR_MS else ms


FIRST_MS = (days_from_civil(FIRST_YEAR, 1, 1) or 0) * DAY_MS
LAST_MS = ((days_from_civil(LAST_YEAR, 12, 31) or 0) + 1) * DAY_MS


def middle_ms(form: str) -> int:
    """How far the middle of what a stamp names lies behind its beginning: half a minute where no seconds are printed.

    Common practice, no source: clocks cut off what they do not print. Whole seconds are taken as they stand (half of
    one is nothing here), and so are dates without a time, which name no moment at all.
    """
    if END in form or BEGIN in form:  # the end of an interval is no clock that was cut off
        return 0
    return 30_000 if ("%M" in form and "%S" not in form) or "%<hhmm>" in form else 0


def split_format(text: str, columns: int) -> tuple[str, ...]:
    """The parts of a format whose cells stand in ``columns`` columns.

    Tabs in the format part them; without tabs, the time is parted from the date. Raises ValueError if the parts are
    not as many as the columns.
    """
    parts = tuple(text.split("\t"))
    if len(parts) == 1 and columns == 2:
        start = min((i for i in map(text.find, ("%H", "%I", "%p", "%<")) if i > 0), default=0)
        parts = (text[:start].rstrip(), text[start:])
    if len(parts) != columns or not all(parts):
        raise ValueError(f"“{text}” does not have {columns} parts")
    return parts


def start_of(form: str) -> str:
    """What has to be said besides stamps of ``form``: "date" of times of day, "start" of time that has gone by, "year"
    of dates without one; "" where they say it all."""
    if form in NUMERIC or not form:
        return ""
    if any(f"%<{unit}>" in form for unit in ("hours", "minutes", *COUNT_MS)):
        return "" if any(f"%{part}" in form for part in DATE_PARTS) else "start"
    if not any(f"%{part}" in form for part in DATE_PARTS):
        return "date"
    return "" if "%Y" in form or "%y" in form else "year"


def show(ms: int) -> str:
    """``ms`` as people read it: 2024-03-31 01:59:59."""
    return f"{EPOCH + ms * MS:%Y-%m-%d %H:%M:%S}"
