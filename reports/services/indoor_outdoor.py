"""Indoors beside outdoors: difference and ratio with their uncertainties (docs/methods/zones.md)."""

from __future__ import annotations

from math import hypot, inf

from methods.uncertainty.budget import coverage_factor
from methods.verdicts import Estimate
from methods.wording.numbers import measured
from reports.services.circumstances import OutdoorValue
from reports.trace import OutdoorComparison

#: Differences and ratios are told with the factor of an uncertainty that is well known.
FACTOR = coverage_factor(inf)
#: Name of the part of a budget that comes with a subtracted outdoor value.
OUTDOOR = "outdoor value"


def contrast(indoor: Estimate, outdoor: OutdoorValue, unit: str, *, taken_off: bool) -> OutdoorComparison:
    """Indoors beside outdoors: difference and ratio with their standard uncertainties, and all of it in words.

    The two are taken as independent, which makes the difference look less sure than it is where both come from one
    instrument with one zero. There is no ratio to an outdoor value that is not clear of zero (U).
    """
    u_in = indoor.budget.combined
    difference, u_difference = indoor.value - outdoor.value, hypot(u_in, outdoor.u)
    clear = outdoor.lower > FACTOR * outdoor.u and indoor.value > 0
    ratio = indoor.value / outdoor.value if clear else None
    u_ratio = ratio * hypot(u_in / indoor.value, outdoor.u / outdoor.value) if ratio is not None else None
    bounds = (outdoor.lower, outdoor.upper) if outdoor.lower < outdoor.upper else (None, None)
    return OutdoorComparison(
        value=outdoor.value,
        u=outdoor.u,
        text=measured(outdoor.value, FACTOR * outdoor.u, unit, bounds=bounds),
        words=outdoor.words,
        deployments=outdoor.deployments,
        indoor=indoor.value,
        indoor_text=measured(indoor.value, indoor.expanded, unit, bounds=(indoor.lower, indoor.upper)),
        difference=difference,
        u_difference=u_difference,
        difference_text=measured(difference, FACTOR * u_difference, unit),
        ratio=ratio,
        u_ratio=u_ratio,
        ratio_text=_ratio_text(ratio, u_ratio),
        taken_off=taken_off,
    )


def _ratio_text(ratio: float | None, u: float | None) -> str:
    return "" if ratio is None or u is None else measured(ratio, FACTOR * u, "").strip()
