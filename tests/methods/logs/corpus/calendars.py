"""Dates with the names of months and the halves of the day in many languages, written by Babel from CLDR."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from babel import Locale
from babel.dates import format_datetime

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import COLUMNS, FORMALDEHYDE, Answers, LogCase, Truths, truth_of

HCHO = COLUMNS[0]
LANGUAGES = (
    "en de fr es it pt nl sv nb da fi is pl cs sk sl hr sr bs hu ro bg mk ru uk be el tr az et lv lt sq ca eu ga cy ar "
    "fa ur he hi bn mr ta te th ka hy kk uz id ms fil vi ja ko zh sw am teo"
)
PATTERNS = {
    "short": "d MMM y",
    "in full": "d MMMM y",
    "alone": "d LLLL y",
    "with dashes": "dd-MMM-y",
    "month first": "MMM d, y",
}
HALVES = {"behind": "y-MM-dd h:mm a", "before": "y-MM-dd a h:mm", "with seconds": "y/MM/dd h:mm:ss a"}
#: Words for one half that are the other one in another language: their times are not recognised.
ELSEWHERE = ("fi", "sq")
#: One reading in each month, and the readings of one November.
YEAR = tuple(dt.datetime(2026, month, 3 * month % 28 + 1, 6 + month, 5) for month in range(1, 13))  # noqa: DTZ001
NOVEMBER = tuple(dt.datetime(2026, 11, 3, 8, minute) for minute in range(10))  # noqa: DTZ001
AFTERNOON = tuple(dt.datetime(2026, 3, 4, 11 + n // 30, 2 * n % 60) for n in range(0, 60, 6))  # noqa: DTZ001
VALUES = (*FORMALDEHYDE, "0.037", "0.039")


def log(moments: tuple[dt.datetime, ...], pattern: str, language: str) -> bytes:
    stamps = [format_datetime(moment, pattern, locale=language) for moment in moments]
    lines = [f"{stamp};{value}\n" for stamp, value in zip(stamps, VALUES, strict=False)]
    return ("Time;HCHO (ppm)\n" + "".join(lines)).encode()


def truth(moments: tuple[dt.datetime, ...]) -> Truths:
    return truth_of(((*HCHO[:2], VALUES),), moments)


def is_one_word(language: str, pattern: str) -> bool:
    """Whether the months are called by single words: others ("thg 3", "3月", "มี.ค.") are asked about as no dates."""
    names = [
        format_datetime(moment, "LLL" if "L" in pattern else pattern.strip("-dy, "), locale=language) for moment in YEAR
    ]
    bare = [name.removeprefix("de ").rstrip(".") for name in names]
    return not any(c.isdigit() or c in " ." for name in bare for c in name)


def settle_of(language: str) -> Answers:
    return by_code({"month_language": str(Locale(language).english_name)})


def calendars() -> Iterator[LogCase]:
    """Each language in two of the patterns, and in one of those for the halves of the day."""
    for n, language in enumerate(LANGUAGES.split()):
        for name in (list(PATTERNS) * 2)[n % 5 : n % 5 + 2]:
            pattern = f"{PATTERNS[name]} HH:mm"
            if not is_one_word(language, PATTERNS[name]):
                continue
            yield LogCase(f"names of months: {language}, {name}", log(YEAR, pattern, language), truth(YEAR))
            once = log(NOVEMBER, pattern, language)
            yield LogCase(f"names of months: {language}, {name}, November", once, truth(NOVEMBER), settle_of(language))
        if language not in ELSEWHERE:
            name, pattern = list(HALVES.items())[n % 3]
            halves = log(AFTERNOON, pattern, language)
            yield LogCase(f"halves of the day: {language}, {name}", halves, truth(AFTERNOON))
    yield from worded()


#: Each part with a word behind it; a bar parts two columns.
WORDED = {
    "ja": (
        "y年M月d日 H時m分",
        "y年M月d日 H時mm分ss秒",
        "y年M月d日H時m分",
        "y年M月d日|H時m分",
        "y年M月d日 ah時m分",
        "y/MM/dd H時m分",
    ),
    "zh": ("y年M月d日 H时m分", "y年MM月dd日 HH时mm分ss秒", "y年M月d日 ah点m分", "y-MM-dd|H时m分s秒"),
    "zh_Hant": ("y年M月d日 H時m分", "y年M月d日 ah點m分"),
    "ko": (
        "y년 M월 d일 H시 m분",
        "y년 M월 d일 H시 mm분 ss초",
        "y년 M월 d일 a h시 m분",
        "y. M. d. H시 m분",
        "y년 M월 d일|H시 m분",
    ),
}
BY_HOUR = tuple(dt.datetime(2026, 3, 8 + n // 4, 6 * n % 24) for n in range(10))  # noqa: DTZ001


def worded() -> Iterator[LogCase]:
    """Hours and minutes with a word behind each, as they are said: the patterns are those of CLDR or near them."""
    for language, patterns in WORDED.items():
        for pattern in patterns:
            content = log(AFTERNOON, pattern.replace("|", ";"), language)
            content = content.replace(b"Time", b"Date;Time") if "|" in pattern else content
            yield LogCase(f"hours and minutes in words: {language}, {pattern}", content, truth(AFTERNOON))
        hour = {"zh": "时", "ko": "시"}.get(language, "時")
        by_hour = log(BY_HOUR, f"y-MM-dd H{hour}", language)
        yield LogCase(f"hours and minutes in words: {language}, only hours", by_hour, truth(BY_HOUR))
