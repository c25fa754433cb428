"""A stretch of days as a strip: where moments lie on it, and which ticks to print under it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

#: (spans up to, step of the ticks in hours, whether the hour is printed)
STEPS = ((12, 1, True), (36, 3, True), (96, 12, True), (24 * 10, 24, False), (24 * 45, 24 * 7, False))
YEARS = 24 * 28
NARROWEST = 0.25  # percent: a visit of minutes in a campaign of weeks can still be seen


@dataclass(frozen=True)
class Tick:
    at: float  # percent of the strip
    text: str


@dataclass(frozen=True)
class DayStrip:
    """From ``start`` to ``end``, both with a zone."""

    start: datetime
    end: datetime

    @property
    def hours(self) -> float:
        return (self.end - self.start) / timedelta(hours=1)

    def at(self, moment: datetime) -> float:
        """Where ``moment`` lies, in percent of the strip, 0 to 100."""
        share = (moment - self.start) / (self.end - self.start)
        return round(100 * min(max(share, 0.0), 1.0), 3)

    def bar(self, start: datetime, end: datetime) -> tuple[float, float]:
        """Left edge and width of [start, end), in percent; never narrower than can be seen."""
        left, right = self.at(start), self.at(end)
        width = max(right - left, NARROWEST)
        return min(left, 100 - width), round(width, 3)

    def ticks(self, zone: ZoneInfo) -> list[Tick]:
        """Round local hours or days. Durations are counted in UTC, so a day of a clock change is as long as it was."""
        step, with_hour = next(((s, h) for most, s, h in STEPS if self.hours <= most), (YEARS, False))
        return [Tick(self.at(moment), text) for moment, text in self._marks(zone, step, with_hour)]

    def _marks(self, zone: ZoneInfo, step: int, with_hour: bool) -> Iterator[tuple[datetime, str]]:
        local = self.start.astimezone(zone)
        wall = local.replace(hour=0, minute=0, second=0, microsecond=0, tzinfo=None)  # the clock on the wall
        while (moment := wall.replace(tzinfo=zone)).astimezone(UTC) <= self.end.astimezone(UTC):
            if moment >= self.start:
                midnight = wall.hour == 0
                yield moment, f"{wall.day} {wall:%b}" if midnight or not with_hour else f"{wall:%H:%M}"
            wall += timedelta(hours=step)
