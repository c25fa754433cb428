"""Two instruments at one point: how far their values are apart, pair by pair and over all pairs.

Relative difference of a pair, and the upper bound of the coefficient of variation over all (40 CFR 58 Appendix A,
section 4; from memory, recomputed); pooled standard deviation s = √(Σd²/2n). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, sqrt

import numpy as np
from scipy.stats import chi2

from methods.quantities.arrays import Floats

#: Fewer pairs give no bound (project rule): with two it would be eight times the coefficient itself.
FEWEST_PAIRS = 3
#: The bound holds with this probability of being too low.
BOUND_TAIL = 0.1

Pairs = Sequence[tuple[float, float]]


def relative_difference(first: float, second: float) -> float | None:
    """The difference over the mean of the two; None where that is not above nothing."""
    mean = (first + second) / 2
    return (first - second) / mean if mean > 0 else None


def pooled_s(pairs: Pairs) -> float:
    """s = √(Σd²/2n) of single values, in the unit of the pairs. ValueError for none."""
    if not pairs:
        raise ValueError("no pairs")
    return sqrt(sum((a - b) ** 2 for a, b in pairs) / (2 * len(pairs)))


def cv_bound(pairs: Pairs) -> float | None:
    """Upper 90 % bound of the coefficient of variation of single values, a fraction; None for fewer than
    ``FEWEST_PAIRS`` with a mean above nothing.

    √[(nΣd² − (Σd)²)/2n(n − 1)] · √[(n − 1)/χ²₀.₁,ₙ₋₁] of the relative differences d.
    """
    each = [d for a, b in pairs if (d := relative_difference(a, b)) is not None]
    if (n := len(each)) < FEWEST_PAIRS:
        return None
    differences: Floats = np.array(each)
    # the same as nΣd² − (Σd)² over 2n(n − 1), without the loss of digits
    variance = float(differences.var(ddof=1)) / 2
    return sqrt(variance * (n - 1) / float(chi2.ppf(BOUND_TAIL, n - 1)))


def disagree(first: float, first_expanded: float, second: float, second_expanded: float) -> bool:
    """Whether two values of the same air lie further apart than their expanded uncertainties allow:
    |x₁ − x₂| > √(U₁² + U₂²)."""
    return abs(first - second) > hypot(first_expanded, second_expanded)
