"""Shapiro and Wilk's test by Royston's approximation (Applied Statistics AS R94, 1995), written out as a reference.

Coefficients from memory; the library that the production code calls has them, too, in code of its own.
"""

from __future__ import annotations

from math import asin, exp, log, pi, sqrt
from statistics import NormalDist

import numpy as np

from methods.quantities.arrays import Floats

_NORMAL = NormalDist()


def shapiro_wilk(x: Floats) -> tuple[float, float]:
    """W and its p-value for ``x`` [n], 3 ≤ n ≤ 5000."""
    ordered = np.sort(x) - np.mean(x)
    w = min(float(_weights(len(x)) @ ordered) ** 2 / float(ordered @ ordered), 1.0)
    return w, _p_value(w, len(x))


def _weights(n: int) -> Floats:
    """The normal scores, scaled, with polynomials in 1/√n for the one or two outermost."""
    if n == 3:
        return np.array([-sqrt(0.5), 0.0, sqrt(0.5)])
    m = np.array([_NORMAL.inv_cdf((k - 0.375) / (n + 0.25)) for k in range(1, n + 1)])
    square, u = float(m @ m), 1 / sqrt(n)
    last = float(np.polyval([-2.706056, 4.434685, -2.071190, -0.147981, 0.221157, m[-1] / sqrt(square)], u))
    a = np.array(m)
    if n <= 5:
        a /= sqrt((square - 2 * m[-1] ** 2) / (1 - 2 * last**2))
    else:
        next_to = float(np.polyval([-3.582633, 5.682633, -1.752461, -0.293762, 0.042981, m[-2] / sqrt(square)], u))
        a /= sqrt((square - 2 * m[-1] ** 2 - 2 * m[-2] ** 2) / (1 - 2 * last**2 - 2 * next_to**2))
        a[-2], a[1] = next_to, -next_to
    a[-1], a[0] = last, -last
    return a


def _p_value(w: float, n: int) -> float:
    if n == 3:
        return max(0.0, min(1.0, 6 / pi * (asin(sqrt(w)) - asin(sqrt(0.75)))))
    y = log(1 - w)
    if n <= 11:
        gamma = 0.459 * n - 2.273
        if y >= gamma:
            return 0.0
        y = -log(gamma - y)
        mean = float(np.polyval([-0.0006714, 0.025054, -0.39978, 0.5440], n))
        spread = exp(float(np.polyval([-0.0020322, 0.062767, -0.77857, 1.3822], n)))
    else:
        mean = float(np.polyval([0.0038915, -0.083751, -0.31082, -1.5861], log(n)))
        spread = exp(float(np.polyval([0.0030302, -0.082676, -0.4803], log(n))))
    return 1 - _NORMAL.cdf((y - mean) / spread)
