"""The days of a site on which logs are laid on each other."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from campaigns.models import Site
from methods.quantities.moments import utc_ms

#: Beyond everything that was ever logged.
EVER_MS = 2**52


def midnight_ms(day: date, site: Site) -> int:
    """UTC ms of the beginning of a day at the site."""
    return utc_ms(datetime.combine(day, time(), tzinfo=site.zone_info))


def span_of(day: date | None, site: Site) -> tuple[int, int]:
    """From when to when, UTC ms; None: on all days."""
    if day is None:
        return -EVER_MS, EVER_MS
    return midnight_ms(day, site), midnight_ms(day + timedelta(days=1), site)


def days_between(first_ms: int, last_ms: int, site: Site) -> list[date]:
    first, last = (datetime.fromtimestamp(ms / 1000, tz=site.zone_info).date() for ms in (first_ms, last_ms))
    return [first + timedelta(days=k) for k in range((last - first).days + 1)]
