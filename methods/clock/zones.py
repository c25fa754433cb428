"""Offsets of an IANA zone as a small table, so that millions of stamps cost two binary searches each.

``zoneinfo`` answers one moment at a time and does not list its transitions. They are found once per zone and year by
probing each day and halving the days between which the offset differs; no zone has ever changed twice within a day.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np

from methods.quantities.arrays import Ints
from methods.quantities.durations import DAY_MS

#: Logger stamps outside these years are nonsense; offsets beyond are held, so that nonsense costs nothing.
FIRST_YEAR, LAST_YEAR = 1970, 2100
_FIRST_MS = 0
_LAST_MS = (
    int((datetime(LAST_YEAR + 1, 1, 1, tzinfo=UTC) - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds()) * 1000 - 1
)


class UnknownZone(ValueError):
    """No such IANA time zone."""


@dataclass(frozen=True, slots=True)
class Transitions:
    """``at``: UTC ms at which the offset changes, shape (k,); ``offsets``: ms ahead of UTC, shape (k + 1,)."""

    at: Ints
    offsets: Ints

    def late(self) -> Ints:
        """Local ms from which the new offset holds whichever way it is read: ends of missing and repeated hours."""
        return self.at + np.maximum(self.offsets[:-1], self.offsets[1:])

    def early(self) -> Ints:
        """Local ms from which the new offset may hold: starts of missing and repeated hours."""
        return self.at + np.minimum(self.offsets[:-1], self.offsets[1:])


def transitions(zone: str, low_ms: int, high_ms: int) -> Transitions:
    """All offset changes of ``zone`` in the years from ``low_ms`` to ``high_ms`` (UTC or local ms) and a day beyond.

    Raises :class:`UnknownZone`.
    """
    first = _year(low_ms - 2 * DAY_MS)
    last = _year(high_ms + 2 * DAY_MS)
    parts = [_year_transitions(zone, year) for year in range(first, last + 1)]
    at = np.array([t for part in parts for t, _ in part], dtype=np.int64)
    after = [offset for part in parts for _, offset in part]
    start = _offset_ms(_zone(zone), _year_start_ms(first))
    return Transitions(at, np.array([start, *after], dtype=np.int64))


def _year(ms: int) -> int:
    clipped = min(max(int(ms), _FIRST_MS), _LAST_MS)
    return datetime.fromtimestamp(clipped // 1000, tz=UTC).year


def _year_start_ms(year: int) -> int:
    return int(datetime(year, 1, 1, tzinfo=UTC).timestamp()) * 1000


@lru_cache(maxsize=64)
def _zone(name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise UnknownZone(f"“{name}” is not a time zone of the IANA database.") from error


def _offset_ms(zone: ZoneInfo, utc_ms: int) -> int:
    offset = datetime.fromtimestamp(utc_ms // 1000, tz=UTC).astimezone(zone).utcoffset()
    return (offset or timedelta(0)) // timedelta(milliseconds=1)


@lru_cache(maxsize=4096)
def _year_transitions(name: str, year: int) -> tuple[tuple[int, int], ...]:
    """(UTC ms, new offset ms) of each change in (1 January, 1 January of the next year]."""
    zone = _zone(name)
    transitions = []
    probes = range(_year_start_ms(year), _year_start_ms(year + 1) + 1, DAY_MS)
    before = _offset_ms(zone, probes[0])
    for low, high in pairwise(probes):
        after = _offset_ms(zone, high)
        if after != before:
            transitions.append((_halve(zone, low, high, before), after))
            before = after
    return tuple(transitions)


def _halve(zone: ZoneInfo, low: int, high: int, before: int) -> int:
    """First whole second in (low, high] at which the offset is no longer ``before``, in ms."""
    low, high = low // 1000, high // 1000
    while high - low > 1:
        middle = (low + high) // 2
        if _offset_ms(zone, middle * 1000) == before:
            low = middle
        else:
            high = middle
    return high * 1000
