"""Rounding before comparison, for limits whose document says how (R-02 to R-05 of the check values)."""

from __future__ import annotations

from decimal import ROUND_DOWN, ROUND_HALF_UP, Context, Decimal
from math import isfinite

#: Means carry binary noise in the last digits (9.499999999999998 for 9.5); twelve digits are far more than any meter's.
_CLEAN = Context(prec=12)
#: Room for every digit of the largest float.
_WIDE = Context(prec=400)


def half_up(x: float, digits: int = 0) -> float:
    """``x`` rounded to ``digits`` decimals, a fraction of exactly one half away from zero (40 CFR 50.8(d), R-02).

    Python's own ``round`` takes halves to the even neighbour: 8.5 becomes 8, and 34.5 becomes 34.
    """
    return _quantised(x, digits, ROUND_HALF_UP)


def truncate(x: float, digits: int = 0) -> float:
    """``x`` with everything after ``digits`` decimals cut off (40 CFR 50 App. I §2.1.1, R-04)."""
    return _quantised(x, digits, ROUND_DOWN)


def _quantised(x: float, digits: int, rounding: str) -> float:
    """What is no finite number stays what it is."""
    if not isfinite(x):
        return float(x)
    clean = _CLEAN.create_decimal(repr(float(x)))
    return float(clean.quantize(Decimal(1).scaleb(-digits), rounding=rounding, context=_WIDE))
