"""Logger stamps: naive wall-clock time as milliseconds since 1970-01-01T00:00:00 on the logger's own clock. Pure."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, tzinfo

#: Readings of instruments and plans for them lie in these years; what lies elsewhere was mistyped, and arithmetic with
#: time zones ends at the years 1 and 9999.
FIRST_YEAR, LAST_YEAR = 1900, 2200
OUT_OF_REACH = f"This lies outside the years {FIRST_YEAR} to {LAST_YEAR}."
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - a stamp has no zone; that is the point
MS = timedelta(milliseconds=1)


def is_within_reach(day: date) -> bool:
    """Whether a day, or a moment, lies in years that anybody can mean."""
    return FIRST_YEAR <= day.year <= LAST_YEAR


def stamp_ms(wall: datetime) -> int:
    """Milliseconds of a wall-clock time; a zone, if any, is ignored."""
    return (wall.replace(tzinfo=None) - EPOCH) // MS


def stamp_text(ms: int) -> str:
    """``YYYY-MM-DD hh:mm:ss`` of a stamp, with milliseconds only where there are any."""
    wall = EPOCH + ms * MS
    return wall.isoformat(sep=" ", timespec="milliseconds" if wall.microsecond else "seconds")


def utc_ms(moment: datetime) -> int:
    """Milliseconds since the epoch of an aware time."""
    return (moment.astimezone(UTC).replace(tzinfo=None) - EPOCH) // MS


def utc_moment(ms: int) -> datetime:
    """The aware time ``ms`` milliseconds after the epoch."""
    return datetime(1970, 1, 1, tzinfo=UTC) + int(ms) * MS


def local_text(moment: datetime | None, zone: tzinfo) -> str:
    """``2026-09-15 09:00`` on the clock of the place, with seconds only where there are any; a dash for none."""
    if moment is None:
        return "–"
    wall = moment.astimezone(zone)
    return f"{wall:%Y-%m-%d %H:%M:%S}" if wall.second else f"{wall:%Y-%m-%d %H:%M}"
