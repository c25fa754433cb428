"""What EN 482 asks of a measurement at work: how large the expanded uncertainty may be. Pure.

Method: docs/methods/uncertainty.md; M-11.

The numbers are from memory and are shown as information; no verdict rests on them.
"""

from __future__ import annotations

#: A limit averaged over no more than this is a short-term one.
SHORT_TERM_MINUTES = 15
LARGER, SMALLER = 0.5, 0.3


def largest_share(value: float, limit: float, minutes: float) -> float | None:
    """The largest expanded uncertainty (k = 2) as a share of ``value``, both in the limit's unit; None where EN 482
    asks for none: outside 0.5 to 2 times a short-term limit, or 0.1 to 2 times a long-term one.

    ``minutes``: what the limit averages over. ValueError for a limit that is not above zero.
    """
    if limit <= 0:
        raise ValueError("a limit is above zero")
    fraction = value / limit
    if 0.5 <= fraction <= 2.0:
        return LARGER if minutes <= SHORT_TERM_MINUTES else SMALLER
    return LARGER if 0.1 <= fraction < 0.5 and minutes > SHORT_TERM_MINUTES else None


def words(value: float, expanded: float, limit: float, minutes: float) -> str:
    """For people, with what this measurement has."""
    most = largest_share(value, limit, minutes)
    if most is None:
        return "EN 482 asks for no particular uncertainty so far from the limit (from memory)."
    has = expanded / value
    verb = "meets" if has <= most else "does not meet"
    return (
        f"EN 482 asks for U of at most {100 * most:.0f} % of the value at this share of the limit (from memory); "
        f"here it is {100 * has:.0f} %, which {verb} it. For information: no verdict rests on it."
    )
