"""Student's t and the non-central t as the integrals that define them, by Gauss and Legendre: to check a library.

Student: t = √ν·tan θ turns P(T ≤ t) into ½ + Γ((ν+1)/2)/(√π·Γ(ν/2)) · ∫ cos^(ν−1) θ dθ from 0 to atan(t/√ν).
Non-central: T' = (Z + δ)/s with Z standard normal and s = √(χ²/ν), so P(T' ≤ t) is the mean of Φ(t·s − δ) over s.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import pairwise
from math import atan, erfc, exp, lgamma, log, pi, sqrt

import numpy as np

from methods.quantities.arrays import Floats

_REACH = 9.0  # standard deviations, beyond which a normal is 0 or 1 in double precision


@cache
def _legendre(count: int = 120) -> tuple[Floats, Floats]:
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def _integral(f: Callable[[Floats], Floats], edges: list[float]) -> float:
    nodes, weights = _legendre()
    return sum(
        float((b - a) / 2 * np.sum(weights * f((b - a) / 2 * nodes + (a + b) / 2))) for a, b in pairwise(edges) if b > a
    )


def student(t: float, dof: float) -> float:
    """P(T ≤ t); about ten digits."""
    factor = exp(lgamma((dof + 1) / 2) - lgamma(dof / 2)) / sqrt(pi)
    far = min(atan(abs(t) / sqrt(dof)), 40 / sqrt(dof))  # nothing is left beyond
    half = factor * _integral(lambda angle: np.cos(angle) ** (dof - 1), list(np.linspace(0.0, far, 9)))
    return 0.5 + half if t > 0 else 0.5 - half


def noncentral(t: float, dof: int, shift: float) -> float:
    """P(T' ≤ t); about twelve digits for ``dof`` ≥ 1. In pieces around the step of Φ."""
    spread = (_REACH + 3) / sqrt(2 * dof)
    low, high = max(0.0, 1 - spread), 1 + spread
    step = [] if t == 0 else sorted([(shift - _REACH) / t, (shift + _REACH) / t])

    def density(s: Floats) -> Floats:
        scale = log(2) + dof / 2 * log(dof / 2) - lgamma(dof / 2)
        below = np.array([erfc(-(t * value - shift) / sqrt(2)) / 2 for value in s])
        return below * np.exp(scale + (dof - 1) * np.log(s) - dof * s**2 / 2)

    return _integral(density, [low, *(edge for edge in step if low < edge < high), high])
