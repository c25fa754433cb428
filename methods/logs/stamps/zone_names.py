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
NAMED_ZONES = "|".join(sorted(MINUTES_EAST, key=len, reverse=True))

_ZONE = re.compile(
    rf"(?<![^\W_])(?:(?P<utc>UTC|GMT|Zulu|Z)?\s?(?P<sign>[+−-])(?P<hour>\d{{1,2}})(?::?(?P<minute>\d{{2}}))?(?![\d:.,])"
    rf"|(?P<bare>UTC|GMT|Zulu)|(?P<name>{NAMED_ZONES}))(?![^\W_])"
)
_LABEL = re.compile(
    r"time\s?-?zone|tz\b|utc\s?-?offset|all times|times? (?:are|is) in|zeitzone|fuseau|zona hor|huso|fuso|tijdzone",
    re.I,
)
#: No zone is further from Greenwich.
_FURTHEST = 14 * 60


def zone_in(text: str) -> int | None:
    """Minutes east of the one zone that ``text`` names; None for none, and for two that differ."""
    found = {minutes for match in _ZONE.finditer(text[:200]) if (minutes := _minutes(match)) is not None}
    return found.pop() if len(found) == 1 else None


def zone_said_in(line: str) -> int | None:
    """As :func:`zone_in`, of a line above the data that says it speaks of the time zone."""
    return zone_in(line) if _LABEL.search(line[:200]) else None


def _minutes(match: re.Match[str]) -> int | None:
    if match["name"]:
        return MINUTES_EAST[match["name"]]
    if match["bare"]:
        return 0
    minutes = int(match["hour"]) * 60 + int(match["minute"] or 0)
    if minutes > _FURTHEST or (not match["utc"] and not match["minute"]):
        return None
    return minutes if match["sign"] == "+" else -minutes
