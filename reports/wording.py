"""Numbers and times as sentences print them. Pure."""

from __future__ import annotations

import math
from datetime import datetime
from zoneinfo import ZoneInfo


def rounded_to(value: float, u_expanded: float) -> tuple[str, str]:
    """The value and its expanded uncertainty with as many decimals as two significant digits of the latter give.

    0.12345 ± 0.0213 → ("0.123", "0.021"). (Common practice; GUM 7.2.6 asks for no more than two digits.)
    """
    if not (math.isfinite(u_expanded) and u_expanded > 0):
        return plain(value), "0"
    decimals = max(0, 1 - math.floor(math.log10(u_expanded)))
    return f"{value:.{decimals}f}", f"{u_expanded:.{decimals}f}"


def plain(value: float) -> str:
    """Three significant digits, without an exponent for everyday sizes."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    decimals = max(0, 2 - math.floor(math.log10(abs(value))))
    return f"{value:.{min(decimals, 9)}f}"


def with_uncertainty(value: float, u: float | None, unit: str) -> str:
    """``0.123 ± 0.021 mg/m³`` from a standard uncertainty ``u``; U = 2 u is printed."""
    if u is None:
        return f"{plain(value)} {unit}"
    number, spread = rounded_to(value, 2 * u)
    return f"{number} ± {spread} {unit}"


def duration(minutes: float) -> str:
    if minutes < 120 or (minutes < 300 and minutes % 60):
        return f"{minutes:.0f}-minute"
    hours = minutes / 60
    return f"{hours:.0f}-hour" if hours < 48 else f"{hours / 24:.0f}-day"


def length(minutes: float) -> str:
    """A stretch of time as a noun: ``35 min``, ``7.5 h``, ``2 days``."""
    if minutes < 120:
        return f"{minutes:.0f} min"
    return f"{minutes / 60:.3g} h" if minutes < 2880 else f"{minutes / 1440:.3g} days"


def probability(p: float) -> str:
    """Never 0 % or 100 %: the tails are not known that well."""
    if p < 0.001:
        return "under 0.1 %"
    if p > 0.999:
        return "over 99.9 %"
    return f"{100 * p:.1f} %" if p < 0.1 or p > 0.9 else f"{100 * p:.0f} %"


def span(start: datetime, end: datetime, zone: ZoneInfo) -> str:
    """``15 Sep 2026 10:12–10:42`` in the site's own time."""
    first, last = start.astimezone(zone), end.astimezone(zone)
    if first.date() == last.date():
        return f"{_day(first)} {first:%H:%M}–{last:%H:%M}"
    return f"{_day(first)} {first:%H:%M} – {_day(last)} {last:%H:%M}"


def _day(moment: datetime) -> str:
    return f"{moment.day} {moment:%b %Y}"  # %-d is not there on Windows
