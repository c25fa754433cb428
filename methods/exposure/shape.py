"""Are the results lognormal at all? A probability plot and the Shapiro-Wilk test of their logarithms."""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, exp, log, pi, sqrt
from statistics import NormalDist

import numpy as np

from methods.quantities.arrays import Floats

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class Plot:
    """Normal scores [n] (Blom), the sorted natural logarithms [n] to plot against them, and their correlation."""

    scores: Floats
    logs: Floats
    correlation: float


def probability_plot(values: Floats) -> Plot:
    """The points of a lognormal probability plot of ``values`` [n] above zero; on a line if they are lognormal."""
    scores, logs = _scores(len(values)), np.sort(np.log(values))
    return Plot(scores, logs, float(np.corrcoef(scores, logs)[0, 1]))


def _scores(n: int) -> Floats:
    return np.array([_NORMAL.inv_cdf((k - 0.375) / (n + 0.25)) for k in range(1, n + 1)])


def shapiro_wilk(x: Floats) -> tuple[float, float]:
    """W and its p-value for normality of ``x`` [n]; give it logarithms to test for a lognormal.

    Royston's approximation (Applied Statistics AS R94, 1995; coefficients from memory, held against a library in the
    tests). ValueError outside 3 to 5000 values, or where all are equal.
    """
    n = len(x)
    if not 3 <= n <= 5000:
        raise ValueError("the test holds for 3 to 5000 values")
    ordered = np.sort(x) - np.mean(x)
    square = float(ordered @ ordered)
    if float(np.ptp(x)) == 0.0:
        raise ValueError("all values are equal")
    w = min(float(_weights(n) @ ordered) ** 2 / square, 1.0)
    return w, _p_value(w, n)


def _weights(n: int) -> Floats:
    """Royston's weights: the normal scores, scaled, with polynomials in 1/√n for the one or two outermost."""
    if n == 3:
        return np.array([-sqrt(0.5), 0.0, sqrt(0.5)])
    m = _scores(n)
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
    if w == 1.0:
        return 1.0
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
