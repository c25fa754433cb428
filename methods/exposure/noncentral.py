"""The non-central t distribution and the tolerance factors that rest on it.

T' = (Z + δ)/s with Z standard normal and s = √(χ²/ν), so P(T' ≤ t) is the mean of Φ(t·s − δ) over s: one smooth
integral, taken by Gauss-Legendre in pieces around the step of Φ.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from itertools import pairwise
from math import erfc, lgamma, log, sqrt
from statistics import NormalDist

import numpy as np

from methods.quantities.arrays import Floats

_NODES = 120
_REACH = 9.0  # standard deviations, beyond which a normal is 0 or 1 in double precision


def noncentral_t(t: float, dof: int, shift: float) -> float:
    """P(T' ≤ t) for ``dof`` degrees of freedom and non-centrality ``shift``; about 12 correct digits for dof ≥ 1."""
    spread = (_REACH + 3) / sqrt(2 * dof)
    low, high = max(0.0, 1 - spread), 1 + spread
    step = [] if t == 0 else sorted([(shift - _REACH) / t, (shift + _REACH) / t])
    edges = [low, *(edge for edge in step if low < edge < high), high]
    return sum(_piece(t, dof, shift, a, b) for a, b in pairwise(edges))


def _piece(t: float, dof: int, shift: float, a: float, b: float) -> float:
    nodes, weights = legendre(_NODES)
    s = (b - a) / 2 * nodes + (a + b) / 2
    density = np.exp(log(2) + dof / 2 * log(dof / 2) - lgamma(dof / 2) + (dof - 1) * np.log(s) - dof * s**2 / 2)
    return float((b - a) / 2 * np.sum(weights * density * _phi(t * s - shift)))


@cache
def legendre(count: int) -> tuple[Floats, Floats]:
    """Nodes and weights of Gauss and Legendre on [−1, 1]."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return nodes, weights


def _phi(z: Floats) -> Floats:
    return np.array([erfc(-value / sqrt(2)) / 2 for value in z])


@lru_cache(maxsize=512)
def tolerance_factor(n: int, coverage: float = 0.95, confidence: float = 0.95) -> float:
    """One-sided K for which mean + K·s of ``n`` normal values lies above ``coverage`` of them with ``confidence``.

    K = t'(confidence; n − 1, z·√n)/√n (Odeh and Owen 1980; L-01 to L-03 of the check values). ValueError below two.
    """
    if n < 2:
        raise ValueError("a tolerance limit needs at least two values")
    shift = NormalDist().inv_cdf(coverage) * sqrt(n)
    return root(lambda t: noncentral_t(t, n - 1, shift) - confidence, shift, shift + 1.0) / sqrt(n)


def covered_by(factor: float, n: int, confidence: float) -> float:
    """The coverage of which mean + ``factor``·s is the tolerance limit with ``confidence``: the inverse of K."""
    t = factor * sqrt(n)
    shift = root(lambda d: confidence - noncentral_t(t, n - 1, d), t - 1.0, t)
    return NormalDist().cdf(shift / sqrt(n))


def root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero; [low, high] is a first guess and is widened until it holds the crossing."""
    width = high - low
    while rising(low) > 0:
        low, width = low - width, width * 2
    width = high - low
    while rising(high) < 0:
        high, width = high + width, width * 2
    for _ in range(200):
        middle = (low + high) / 2
        if middle in (low, high):
            break
        low, high = (middle, high) if rising(middle) < 0 else (low, middle)
    return (low + high) / 2
