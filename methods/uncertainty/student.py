"""Student's t distribution, for means whose scatter is itself only an estimate (JCGM 100 G.3 and G.4). Pure.

Degrees of freedom need not be whole: Welch and Satterthwaite's seldom are. Judging asks hundreds of thousands of times,
hence ``scipy.special`` and not ``scipy.stats``, whose distributions take a hundred times as long for one number.
"""

from __future__ import annotations

from math import isinf

from scipy.special import ndtr, ndtri, stdtr, stdtrit


def probability(t: float, dof: float) -> float:
    """P(T ≤ t) for ``dof`` > 0 degrees of freedom, infinite for the normal distribution. ValueError for none."""
    if not dof > 0:
        raise ValueError("Student's t needs degrees of freedom")
    return float(ndtr(t) if isinf(dof) else stdtr(dof, t))


def quantile(p: float, dof: float) -> float:
    """The t with P(T ≤ t) = ``p``, 0 < p < 1."""
    return float(ndtri(p) if isinf(dof) else stdtrit(dof, p))
