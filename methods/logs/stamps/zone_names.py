"""Time zones as loggers name them: "UTC", "GMT+01:00", "+0100", "CET".

A name stands for its offset all year round: where clocks go forward in summer the name changes (CET, CEST), and a file
that says CET in July says UTC+1. Names that mean more than one offset ("IST", "CST" outside North America) are taken
only as RFC 5322 (4.3) defines them; the others are from memory.
"""

from __future__ import annotations

import re

#: Minutes east of Greenwich.
MINUTES_EAST = {
    "WET": 0, "WEST": 60, "CET": 60, "MEZ": 60, "CEST": 120, "MESZ": 120, "EET": 120, "EEST": 180, "BST": 60,
    "EST": -300, "EDT": -240, "CST": -360, "CDT": -300, "MST": -420, "MDT": -360, "PST": -480, "PDT": -420,
    "MSK": 180, "JST": 540, "SGT": 480, "HKT": 480, "AEST": 600, "AEDT": 660, "NZST": 720, "NZDT": 780,
}  # fmt: skip
#: Of those, what clocks show in summer alone.
_OF_SUMMER = frozenset(("WEST", "CEST", "MESZ", "EEST", "BST", "EDT", "CDT", "MDT", "PDT", "AEDT", "NZDT"))
NAMED_ZONES = "|".join(sorted(MINUTES_EAST, key=len, reverse=True))

_ZONE = re.compile(
    rf"(?<![^\W_])(?:(?P<utc>UTC|GMT|Zulu|Z)?\s?(?P<sign>[+−-])(?P<hour>\d{{1,2}})(?::?(?P<minute>\d{{2}}))?(?!\d|[:.,]\d)"
    rf"|(?P<bare>UTC|GMT|Zulu)(?!\s?[+−-]\s?\d)|(?P<name>{NAMED_ZONES}))(?![^\W_])"
)
_LABEL = re.compile(
    r"time\s?-?zone|tz\b|(?P<offset>(?:utc|gmt)[\s_]?-?offset|offset (?:from|to) (?:utc|gmt))"
    r"|all times|times? (?:are|is) in|zeitzone|fuseau|zona hor|huso|fuso|tijdzone",
    re.I,
)
#: Behind a label of an offset a number alone is one; "-300" may be minutes, or three hours.
_BARE_OFFSET = re.compile(r"(?<![\w.,:+−-])([+−-])(\d{1,2})(?::?(\d{2}))?(?![\w.,:])|(?<![\w.,:+−-])(0)(?![\w.,:])")
_THREE_DIGITS = re.compile(r"[+−-]\d{3}(?!\d)")
#: Names of the tz database, whose signs are the other way round: Etc/GMT+5 is west of Greenwich (from memory).
_ETC = re.compile(r"\bEtc/(?:UTC|GMT)(?:(?P<sign>[+-])(?P<hour>\d{1,2}))?(?!\w)", re.I)
#: Clocks that go forward in summer are at no fixed offset, whatever that of their winter is (names from memory).
_SUMMER = re.compile(r"\bDST\b|daylight|summer|sommerzeit|heure d.été|\bGMT (?:standard|daylight) time", re.I)
_NO_SUMMER = re.compile(
    r"\b(?:no|not|without|ohne|sans|excl\w*\.?) "
    r"(?:DST|daylight\w*(?: saving\w*)?(?: time)?|summer ?time|sommerzeit)"
    r"|\bDST[\s:=,;]+(?:no|off|none|false|0)\b",
    re.I,
)
#: No zone is further from Greenwich.
_FURTHEST = 14 * 60


def zone_in(text: str) -> int | None:
    """Minutes east of the one fixed zone that ``text`` names; None for none, for two that differ, and for a clock that
    goes forward in summer."""
    text = _ETC.sub(_turned, _NO_SUMMER.sub(" ", text[:200]))
    matches = [match for match in _ZONE.finditer(text) if _minutes(match) is not None]
    if _SUMMER.search(text) and any(match["name"] not in _OF_SUMMER for match in matches):
        return None
    found = {_minutes(match) for match in matches}
    return found.pop() if len(found) == 1 else None


def zone_said_in(line: str) -> int | None:
    """As :func:`zone_in`, of a line above the data that says it speaks of the time zone: the words that say so ("UTC
    offset") name none themselves."""
    line = line[:200]
    label = _LABEL.search(line)
    if label is None:
        return None
    rest = f"{line[: label.start()]} {line[label.end() :]}"
    if not label["offset"]:
        return zone_in(rest)
    if _SUMMER.search(_NO_SUMMER.sub(" ", rest)) or _THREE_DIGITS.search(rest):
        return None
    found = {_bare_minutes(match) for match in _BARE_OFFSET.finditer(rest)}
    return found.pop() if len(found) == 1 else zone_in(rest) if not found else None


def speaks_of_zone(heading: str) -> bool:
    """Whether the name of a column says that it holds the zone of each line."""
    words = heading.strip().casefold()
    return _LABEL.search(words) is not None or words in ("offset", "utc", "gmt") or zone_in(heading) is not None


def _turned(match: re.Match[str]) -> str:
    if not match["sign"]:
        return "UTC"
    return f"UTC{'-' if match['sign'] == '+' else '+'}{match['hour']}"


def _bare_minutes(match: re.Match[str]) -> int | None:
    if match[4]:
        return 0
    minutes = int(match[2]) * 60 + int(match[3] or 0)
    if minutes > _FURTHEST:
        return None
    return minutes if match[1] == "+" else -minutes


def _minutes(match: re.Match[str]) -> int | None:
    if match["name"]:
        return MINUTES_EAST[match["name"]]
    if match["bare"]:
        return 0
    minutes = int(match["hour"]) * 60 + int(match["minute"] or 0)
    if minutes > _FURTHEST or (not match["utc"] and not match["minute"]):
        return None
    return minutes if match["sign"] == "+" else -minutes
