"""Student's t distribution, for means whose scatter is itself only an estimate (JCGM 100 G.3 and G.4). Pure.

By the regularised incomplete beta function, I_x(ν/2, ½) at x = ν/(ν + t²) (Abramowitz and Stegun 26.7.1, from memory),
as a continued fraction. Degrees of freedom need not be whole: Welch and Satterthwaite's seldom are.
"""

from __future__ import annotations

from functools import lru_cache
from math import exp, isinf, lgamma, log, log1p
from statistics import NormalDist

_NORMAL = NormalDist()
#: From here on the difference to the normal distribution is below 2e-6.
_AS_GOOD_AS_NORMAL = 1e5


def probability(t: float, dof: float) -> float:
    """P(T ≤ t) for ``dof`` > 0 degrees of freedom, infinite for the normal distribution. ValueError for none."""
    if not dof > 0:
        raise ValueError("Student's t needs degrees of freedom")
    if dof > _AS_GOOD_AS_NORMAL or isinf(t):
        return _NORMAL.cdf(t)
    tail = _incomplete_beta(dof / (dof + t * t), dof / 2, 0.5) / 2
    return tail if t < 0 else 1.0 - tail


@lru_cache(maxsize=4096)
def quantile(p: float, dof: float) -> float:
    """The t with P(T ≤ t) = ``p``, 0 < p < 1, by bisection to the last digits."""
    if p == 0.5:
        return 0.0
    if p < 0.5:
        return -quantile(1 - p, dof)
    low, high = 0.0, 1.0
    while probability(high, dof) < p:
        low, high = high, high * 2
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if probability(middle, dof) < p else (low, middle)
    return (low + high) / 2


def _incomplete_beta(x: float, a: float, b: float) -> float:
    """Regularised I_x(a, b) for 0 ≤ x ≤ 1; by symmetry where the fraction would converge slowly."""
    if x in (0.0, 1.0):
        return x
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x))
    if x < (a + 1) / (a + b + 2):
        return front * _fraction(x, a, b) / a
    return 1.0 - front * _fraction(1.0 - x, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """1/(1 + d₁/(1 + d₂/(1 + …))) of I_x(a, b) (Abramowitz and Stegun 26.5.8, from memory), by Lentz's method."""
    tiny = 1e-300
    found = c = 1.0
    d = 0.0
    for k in range(1, 400):
        m = k // 2
        if k % 2:
            term = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            term = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1.0 / ((1.0 + term * d) or tiny)
        c = (1.0 + term / c) or tiny
        found *= c * d
        if abs(c * d - 1.0) < 1e-15:
            break
    return 1.0 / found
