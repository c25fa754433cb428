"""Numbers as people read them: plain digits, never an exponent, never the noise of binary fractions. Pure.

What is printed, wherever, is printed by these: a format code of Python's own may print ``1.5e+02`` or ``-6.94e-18``.
"""

from __future__ import annotations

import math

#: Nothing that is measured here is smaller than that; what is left of a sum of binary fractions is.
NOTHING = 1e-12
MOST_DECIMALS = 12
MINUS = "\N{MINUS SIGN}"


def in_digits(value: float, figures: int = 3, *, zeros: bool = False) -> str:
    """``value`` to so many significant digits, whole numbers in full: 0.0123109 → ``0.0123``, 12345.6 → ``12346``.

    ``zeros``: those at the end are kept, because they were measured (``0.100``).
    """
    if not math.isfinite(value):
        return "–" if math.isnan(value) else f"{MINUS if value < 0 else ''}∞"
    if abs(value) < NOTHING:
        return "0"
    rounded = float(f"{value:.{max(figures - 1, 0)}e}")  # 0.09996 has as many decimals as 0.100
    decimals = min(max(0, figures - 1 - math.floor(math.log10(abs(rounded)))), MOST_DECIMALS)
    text = fixed(value, decimals)
    return text if zeros or "." not in text else text.rstrip("0").rstrip(".")


def fixed(value: float, decimals: int) -> str:
    """``value`` with so many decimals and a real minus sign; no minus before nothing."""
    text = f"{abs(value):.{decimals}f}"
    return f"{MINUS}{text}" if value < 0 and text.strip("0.") else text


def as_entered(value: float | None) -> str:
    """The number as people wrote it: no zeros that say nothing, a dash for none."""
    return "–" if value is None else in_digits(value, 6)


def percent(share: float, figures: int = 4) -> str:
    """``95 %``, of a share between 0 and 1. What is neither nothing nor all does not look like it: ``99.996 %``."""
    text = in_digits(100 * share, figures)
    while text == "100" and abs(share - 1) > NOTHING and figures < MOST_DECIMALS:
        figures += 1
        text = in_digits(100 * share, figures)
    return f"{text} %"
