"""The non-central t distribution and the tolerance factors that rest on it."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import isfinite, isnan, sqrt

from scipy.special import nctdtr, ndtr, ndtri


def noncentral_t(t: float, dof: int, shift: float) -> float:
    """P(T' ≤ t) of T' = (Z + δ)/√(χ²/ν) for ``dof`` degrees of freedom and non-centrality ``shift``.

    Far in the tails the library gives no number; it is 0 or 1 there to more digits than anybody needs. Nor
    does it where ``t`` is next to nothing, which counts as 0.
    """
    found = float(nctdtr(dof, shift, t if abs(t) > 1e-60 else 0.0))
    return float(t > shift) if isnan(found) else found


@lru_cache(maxsize=512)
def tolerance_factor(n: int, coverage: float = 0.95, confidence: float = 0.95) -> float:
    """One-sided K for which mean + K·s of ``n`` normal values lies above ``coverage`` of them with ``confidence``.

    K = t'(confidence; n − 1, z·√n)/√n (Odeh and Owen 1980; L-01 to L-03 of the check values). ValueError below two.
    """
    if n < 2:
        raise ValueError("a tolerance limit needs at least two values")
    return factor_at(n, float(ndtri(coverage)), confidence)


def factor_at(n: int, z: float, confidence: float) -> float:
    """The same for the quantile μ + z·σ."""
    shift = z * sqrt(n)
    return root(lambda t: noncentral_t(t, n - 1, shift) - confidence, shift, shift + 1.0) / sqrt(n)


def covered_by(factor: float, n: int, confidence: float) -> float:
    """The coverage of which mean + ``factor``·s is the tolerance limit with ``confidence``: the inverse of K."""
    t = factor * sqrt(n)
    shift = root(lambda d: confidence - noncentral_t(t, n - 1, d), t - 1.0, t)
    return float(ndtr(shift / sqrt(n)))


def root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Where a rising function crosses zero; [low, high] is a first guess and is widened until it holds the crossing.
    ValueError where there is none."""
    from scipy.optimize import brentq  # late: it takes its time to load, and few pages ask

    width = high - low
    while isfinite(low) and rising(low) > 0:
        low, width = low - width, width * 2
    width = high - low
    while isfinite(high) and rising(high) < 0:
        high, width = high + width, width * 2
    if not (isfinite(low) and isfinite(high)):
        raise ValueError("the function crosses zero nowhere")
    return float(brentq(rising, low, high, xtol=1e-12, rtol=1e-14))
