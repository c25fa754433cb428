"""Means of already averaged values (hourly figures, laboratory samples) with values missing."""

from __future__ import annotations

from collections.abc import Sequence
from math import isnan

from methods.averages.windows import MIN_COVERAGE


def is_complete(present: int, expected: int, min_coverage: float = MIN_COVERAGE) -> bool:
    """Whether enough of the expected values are there (Directive 2008/50/EC Annex VII A.2, 40 CFR 50.8(c): R-01)."""
    if expected <= 0 or not 0 <= present <= expected:
        raise ValueError("present must lie between none and all of the expected values")
    return present >= min_coverage * expected - 1e-9


def complete_mean(values: Sequence[float | None], min_coverage: float = MIN_COVERAGE) -> float | None:
    """The mean of equally long values, None or NaN standing for a missing one; None when too many are missing.

    The divisor is the number present (40 CFR 50.8(c): six or seven hours are divided by six or seven; R-07, R-08).
    """
    known = [value for value in values if value is not None and not isnan(value)]
    if not values or not known or not is_complete(len(known), len(values), min_coverage):
        return None
    return sum(known) / len(known)
