"""Indoors beside outdoors: difference and ratio with their uncertainties (docs/methods/zones.md)."""

from __future__ import annotations

from math import hypot

from methods.uncertainty.budget import COVERAGE_FACTOR
from methods.verdicts import Estimate
from methods.wording.numbers import measured
from reports.services.circumstances import OutdoorValue
from reports.trace import OutdoorComparison

#: Name of the part of a budget that comes with a subtracted outdoor value.
OUTDOOR = "outdoor value"


def contrast(indoor: Estimate, outdoor: OutdoorValue, unit: str, *, taken_off: bool) -> OutdoorComparison:
    """Indoors beside outdoors: difference and ratio with their standard uncertainties, and all of it in words.

    The two are taken as independent, which makes the difference look less sure than it is where both come from one
    instrument with one zero. There is no ratio to an outdoor value that is not clear of zero (2 u).
    """
    u_in = indoor.budget.combined
    difference, u_difference = indoor.value - outdoor.value, hypot(u_in, outdoor.u)
    clear = outdoor.lower > COVERAGE_FACTOR * outdoor.u and indoor.value > 0
    ratio = indoor.value / outdoor.value if clear else None
    u_ratio = ratio * hypot(u_in / indoor.value, outdoor.u / outdoor.value) if ratio is not None else None
    bounds = (outdoor.lower, outdoor.upper) if outdoor.lower < outdoor.upper else (None, None)
    return OutdoorComparison(
        value=outdoor.value,
        u=outdoor.u,
        text=measured(outdoor.value, outdoor.u, unit, bounds=bounds),
        words=outdoor.words,
        deployments=outdoor.deployments,
        indoor=indoor.value,
        indoor_text=measured(indoor.value, u_in, unit, bounds=(indoor.lower, indoor.upper)),
        difference=difference,
        u_difference=u_difference,
        difference_text=measured(difference, u_difference, unit),
        ratio=ratio,
        u_ratio=u_ratio,
        ratio_text=measured(ratio, u_ratio, "").strip() if ratio is not None else "",
        taken_off=taken_off,
    )
