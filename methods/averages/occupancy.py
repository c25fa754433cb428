"""When a place is in use: a timetable on the clock of the place, and the moments it stands for.

Method: docs/methods/averages.md#time-of-use. Pure: times are int64 milliseconds since the epoch, UTC; hours of use are
minutes after the midnight with which their day begins, so that a night from 22:00 to 07:00 is 1320 to 1860.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from methods.clock.zones import Transitions, transitions
from methods.quantities.arrays import Ints
from methods.quantities.durations import DAY_MS, MINUTE_MS
from methods.quantities.moments import EPOCH

DAY_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True, order=True)
class Hours:
    """From ``start`` up to ``end``, minutes after midnight; beyond 1440 they reach into the next day. ValueError unless
    they begin within the day, have a length, and last 24 hours at most."""

    start: int
    end: int

    def __post_init__(self) -> None:
        if not 0 <= self.start < DAY_MINUTES or not 0 < self.end - self.start <= DAY_MINUTES:
            raise ValueError("hours of use begin within their day and last between a minute and 24 hours")


@dataclass(frozen=True, slots=True)
class SpecialDay:
    """A date with hours of its own, instead of those of its weekday: opened specially, or presence counted there."""

    day: date
    hours: tuple[Hours, ...]

    def __post_init__(self) -> None:
        if not self.hours:
            raise ValueError("a day of its own has hours; one without is closed")


@dataclass(frozen=True, slots=True)
class ClosedDays:
    """Dates on which nobody is there, both inclusive."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError("closed days end on or after the day they begin")


@dataclass(frozen=True, slots=True)
class OccupiedDay:
    """The stretches of use of one day, which is the one they begin in: [start_k, end_k) in ms UTC, in order, apart."""

    day: date
    start: Ints
    end: Ints

    @property
    def occupied_ms(self) -> int:
        return int((self.end - self.start).sum())

    def within(self, start_ms: int, end_ms: int) -> OccupiedDay:
        """As much of it as lies in [start_ms, end_ms)."""
        start, end = np.maximum(self.start, start_ms), np.minimum(self.end, end_ms)
        kept = end > start
        return OccupiedDay(self.day, start[kept], end[kept])


@dataclass(frozen=True, slots=True)
class Timetable:
    """Hours of use by weekday (``week`` [7], Monday first), days that are closed, and days with hours of their own,
    which count before both."""

    week: tuple[tuple[Hours, ...], ...] = ((),) * 7
    closed: tuple[ClosedDays, ...] = ()
    days: tuple[SpecialDay, ...] = ()

    def __post_init__(self) -> None:
        if len(self.week) != 7:
            raise ValueError("a week has seven days")

    @property
    def is_empty(self) -> bool:
        return not any(self.week) and not self.days

    def hours_on(self, day: date) -> tuple[Hours, ...]:
        for special in self.days:
            if special.day == day:
                return special.hours
        if any(span.first <= day <= span.last for span in self.closed):
            return ()
        return self.week[day.weekday()]

    def occupied(self, zone: str, start_ms: int, end_ms: int) -> list[OccupiedDay]:
        """The days that are in use at some moment of [start_ms, end_ms), whole, in order. ``zone``: IANA name.

        An hour that the clock skips is none. One that it repeats is in use both times where use begins before it and
        ends in it or later; use that begins in it begins with the first time.
        """
        moves = transitions(zone, start_ms, end_ms)
        first, last = (_local_day(ms, moves) for ms in (start_ms, end_ms))
        return list(self._days(first - timedelta(days=1), last, moves, (start_ms, end_ms)))

    def _days(self, first: date, last: date, moves: Transitions, span: tuple[int, int]) -> Iterable[OccupiedDay]:
        """From ``first`` to ``last``. What two days share (a night, and hours before it has ended) is the earlier's."""
        free_from = -(2**62)
        for count in range((last - first).days + 1):
            day = first + timedelta(days=count)
            hours = sorted(self.hours_on(day))
            midnight = (day - EPOCH.date()).days * DAY_MS
            begin = _utc([midnight + each.start * MINUTE_MS for each in hours], moves, is_end=False)
            end = _utc([midnight + each.end * MINUTE_MS for each in hours], moves, is_end=True)
            start, end = _apart(begin, end, free_from)
            if len(end):
                free_from = int(end[-1])
                if (start < span[1]).any() and (end > span[0]).any():
                    yield OccupiedDay(day, start, end)


def _local_day(utc_ms: int, moves: Transitions) -> date:
    offset = int(moves.offsets[np.searchsorted(moves.at, utc_ms, side="right")])
    return EPOCH.date() + timedelta(days=(utc_ms + offset) // DAY_MS)


def _utc(local_ms: list[int], moves: Transitions, *, is_end: bool) -> Ints:
    """Wall-clock times [k] in UTC. In a missing hour: the moment at which the clock jumps. In a repeated one: the first
    time for a start, the second for an end."""
    local = np.array(local_ms, np.int64)
    if not len(moves.at):
        return np.array(local - moves.offsets[0], np.int64)
    side = "left" if is_end else "right"
    surely = np.searchsorted(moves.late(), local, side=side)  # type: ignore[call-overload]
    perhaps = np.searchsorted(moves.early(), local, side=side)  # type: ignore[call-overload]
    offset = moves.offsets[perhaps if is_end else surely]
    is_missing = (perhaps > surely) & (moves.offsets[perhaps] > moves.offsets[surely])
    jump = moves.at[np.minimum(surely, len(moves.at) - 1)]
    out: Ints = np.where(is_missing, jump, local - offset)
    return out


def _apart(start: Ints, end: Ints, free_from: int) -> tuple[Ints, Ints]:
    """The same time as stretches that do not overlap, from ``free_from`` on; those that touch become one."""
    kept: list[list[int]] = []
    for lo, hi in zip(start.tolist(), end.tolist(), strict=True):
        begin = max(lo, free_from)
        if hi <= begin:
            continue
        if kept and begin <= kept[-1][1]:
            kept[-1][1] = max(kept[-1][1], hi)
        else:
            kept.append([begin, hi])
    ends = np.array(kept, np.int64).reshape(-1, 2)
    return ends[:, 0], ends[:, 1]
