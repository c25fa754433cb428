"""Numbers and times as sentences print them. Pure."""

from __future__ import annotations

import math
from calendar import month_abbr, month_name
from datetime import datetime
from zoneinfo import ZoneInfo

from methods.quantities.digits import MOST_DECIMALS, fixed, in_digits
from methods.quantities.moments import stamp_text

#: By number: looked up once, pages print hundreds of dates.
MONTHS = tuple(month_abbr)


def rounded_to(value: float, u_expanded: float) -> tuple[str, str]:
    """The value and its expanded uncertainty with as many decimals as two significant digits of the latter give.

    0.12345 ± 0.0213 → ("0.123", "0.021"). (Common practice; GUM 7.2.6 asks for no more than two digits.)
    """
    if not (math.isfinite(u_expanded) and u_expanded > 0):
        return plain(value), "0"
    decimals = min(max(0, 1 - math.floor(math.log10(u_expanded))), MOST_DECIMALS)
    return fixed(value, decimals), fixed(u_expanded, decimals)


def plain(value: float) -> str:
    """What was measured: three significant digits, without an exponent."""
    return in_digits(value, zeros=True)


def with_uncertainty(value: float, expanded: float | None, unit: str) -> str:
    """``0.123 ± 0.021 mg/m³``; ``expanded``: the expanded uncertainty."""
    if expanded is None:
        return f"{plain(value)} {unit}"
    number, spread = rounded_to(value, expanded)
    return f"{number} ± {spread} {unit}"


def measured(
    value: float,
    expanded: float | None,
    unit: str,
    *,
    bounds: tuple[float | None, float | None] = (None, None),
    at_least: bool = False,
) -> str:
    """A mean as a sentence prints it: with its expanded uncertainty, or with what it leaves open.

    ``bounds``: the mean with readings below detection at zero and at their limit, where there were any; all below
    detection is ``below 0.012 mg/m³``. ``at_least``: readings were over range.
    """
    lower, upper = bounds
    if at_least:
        return f"at least {with_uncertainty(value, expanded, unit)}"
    if lower is None or upper is None:
        return with_uncertainty(value, expanded, unit)
    if all_below(lower, upper):
        return f"below {plain(upper)} {unit}"
    low, high = bound_texts(lower, upper, expanded)
    return (
        with_uncertainty(value, expanded, unit)
        if low == high
        else f"{low} to {with_uncertainty(upper, expanded, unit)}"
    )


def all_below(lower: float | None, upper: float | None) -> bool:
    """Whether every reading was below detection: with those at zero, nothing is left but the rounding of a sum."""
    return lower is not None and upper is not None and lower <= 1e-9 * abs(upper)


def bound_texts(lower: float, upper: float, expanded: float | None) -> tuple[str, str]:
    """Both ends of a mean that readings below detection leave open, with no more decimals than ± U carries.

    They are equal where the uncertainty is so much larger that the distance between them means nothing.
    """
    if not expanded:
        return plain(lower), plain(upper)
    if upper - lower < expanded / 4:
        return (rounded_to(upper, expanded)[0],) * 2
    return rounded_to(lower, expanded)[0], rounded_to(upper, expanded)[0]


def duration(minutes: float) -> str:
    if minutes < 120 or (minutes < 300 and minutes % 60):
        return f"{minutes:.0f}-minute"
    hours = minutes / 60
    return f"{hours:.0f}-hour" if hours < 48 else f"{hours / 24:.0f}-day"


def length(minutes: float) -> str:
    """A stretch of time as a noun: ``35 min``, ``7.5 h``, ``2 days``."""
    if minutes < 120:
        return f"{minutes:.0f} min"
    return f"{in_digits(minutes / 60)} h" if minutes < 2880 else f"{in_digits(minutes / 1440)} days"


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
        return f"{_day(first)} {_clock(first)}–{_clock(last)}"
    return f"{_day(first)} {_clock(first)} – {_day(last)} {_clock(last)}"


def _day(moment: datetime) -> str:
    return f"{moment.day} {MONTHS[moment.month]} {moment.year}"


def _clock(moment: datetime) -> str:
    return f"{moment.hour:02d}:{moment.minute:02d}"


def mid_sentence(name: str) -> str:
    """A parameter's name inside a sentence: "formaldehyde", but "PM2.5"."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]


def sentence_case(text: str) -> str:
    """With a capital at the beginning; the rest as it is."""
    return text[:1].upper() + text[1:]


def minute(moment: datetime, zone: ZoneInfo) -> str:
    """``2026-09-15 09:00`` in the site's own time."""
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"


def day_in_full(local: datetime) -> str:
    """``1 December 2026``"""
    return f"{local.day} {month_name[local.month]} {local.year}"


def time_of_day(local: datetime) -> str:
    """``09:30``"""
    return _clock(local)


def clock_face(shown_ms: int, *, to_minute: bool) -> str:
    """What an instrument's clock showed, as a person reads it off: ``2026-09-15 09:05:20``. ``to_minute``: the display
    has no seconds."""
    text = stamp_text(shown_ms)
    return f"{text.removesuffix(':00')}, no seconds" if to_minute else text
