"""Two series on one grid of time, and how they go together. Pure.

Readings of one place follow each other: neighbours are alike, so that a thousand of them tell little more than a few.
The number of pairs that would tell as much if they were independent is given beside every coefficient.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.durations import MINUTE_MS

STEPS_MIN = (1, 2, 5, 10, 15, 30, 60)
LEAST_PAIRS = 3


def step_ms(*interval_ms: int) -> int:
    """The length of a block for readings logged at these intervals: the next of 1, 2, 5, 10, 15, 30, 60 minutes."""
    longest = max(interval_ms, default=MINUTE_MS)
    return next((m * MINUTE_MS for m in STEPS_MIN if m * MINUTE_MS >= longest), STEPS_MIN[-1] * MINUTE_MS)


@dataclass(frozen=True, eq=False)
class Blocks:
    """Means over blocks of one length: ``start_ms`` [k] ascending multiples of it, ``mean`` [k], ``n`` [k] readings;
    ``open`` [k] how far the mean may lie lower because of readings below detection."""

    start_ms: Ints
    mean: Floats
    n: Ints
    open: Floats


def blocks(utc_ms: Ints, value: Floats, step: int, below: Bools | None = None) -> Blocks:
    """Plain means of the readings in each block that holds any, in any order of ``utc_ms`` [n]; ``value`` [n] finite.

    ``below`` [n]: below detection, ``value`` being the limit.
    """
    if not len(utc_ms):
        return Blocks(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.int64), np.zeros(0))
    at, where, n = np.unique(utc_ms // step, return_inverse=True, return_counts=True)
    mean = np.bincount(where, weights=value) / n
    hidden = np.zeros(len(value)) if below is None else np.where(below, np.maximum(value, 0.0), 0.0)
    return Blocks(at * step, mean, n.astype(np.int64), np.bincount(where, weights=hidden) / n)


def together(left: Blocks, right: Blocks) -> tuple[Ints, Ints]:
    """Positions in both of the blocks that both have."""
    _, first, second = np.intersect1d(left.start_ms, right.start_ms, assume_unique=True, return_indices=True)
    return first.astype(np.int64), second.astype(np.int64)


@dataclass(frozen=True, slots=True)
class SeriesAgreement:
    """``n`` pairs; Pearson's and Spearman's coefficients, None where one of the two never changes or pairs are too
    few; ``n_effective`` pairs that would tell as much if each were independent of the one before."""

    n: int
    pearson: float | None
    spearman: float | None
    n_effective: float | None


def agreement(x: Floats, y: Floats) -> SeriesAgreement:
    """How two series of equal length [n] go together; pairs in order of time, both finite.

    Effective number: n (1 − ab) / (1 + ab) with the lag-1 autocorrelations a and b (Bartlett 1935, from memory), at
    most n and at least 2. ValueError for unequal lengths.
    """
    if x.shape != y.shape:
        raise ValueError("pairs need two series of equal length")
    n = len(x)
    if n < LEAST_PAIRS:
        return SeriesAgreement(n, None, None, None)
    from scipy.stats import rankdata  # late: half a second to load, for one page

    pearson = _pearson(x, y)
    both = _lag_one(x) * _lag_one(y)
    effective = min(float(n), max(2.0, n * (1 - both) / (1 + both)))
    return SeriesAgreement(n, pearson, _pearson(rankdata(x), rankdata(y)), effective if pearson is not None else None)


def _pearson(x: Floats, y: Floats) -> float | None:
    dx, dy = x - x.mean(), y - y.mean()
    size = float(np.sqrt(dx @ dx) * np.sqrt(dy @ dy))
    flat = 1e-12 * max(float(np.abs(x).max()), 1e-300) * max(float(np.abs(y).max()), 1e-300)
    return None if size <= flat else float(np.clip(dx @ dy / size, -1.0, 1.0))


def _lag_one(values: Floats) -> float:
    """Lag-1 autocorrelation, 0 to 0.99: what goes up and down by turns is no better known for it.

    Method: docs/methods/comparison.md.
    """
    d = values - values.mean()
    size = float(d @ d)
    return float(np.clip(d[:-1] @ d[1:] / size, 0.0, 0.99)) if size > 0 else 0.0


@dataclass(frozen=True, slots=True)
class Compared:
    """One quantity over another: ``ratio`` with its standard uncertainty, ``difference`` with its own (None where it is
    not known). ``at_least``/``at_most``: readings below detection or over range leave both open in that direction."""

    ratio: float | None
    u_ratio: float | None
    difference: float
    u_difference: float | None
    at_least: bool = False
    at_most: bool = False


def compared(
    a: float,
    b: float,
    *,
    u_a: float | None = None,
    u_b: float | None = None,
    a_open: float = 0.0,
    b_open: float = 0.0,
    a_over: bool = False,
    b_over: bool = False,
) -> Compared:
    """``a`` against ``b``, independent of each other (JCGM 100, 5.1.2: relative variances of a quotient add).

    ``a_open``, ``b_open``: how far each may lie lower because of readings below detection; ``a_over``, ``b_over``:
    readings were over range, so that it may lie higher. No ratio over nothing: where ``b`` is not clear of zero by
    2 ``u_b`` it is None.
    """
    known = u_a is not None and u_b is not None
    u_difference = float(np.hypot(u_a or 0.0, u_b or 0.0)) if known else None
    ratio = a / b if b > 2 * (u_b or 0.0) else None
    u_ratio = None
    if ratio is not None and known and a != 0:
        u_ratio = abs(ratio) * float(np.hypot((u_a or 0.0) / a, (u_b or 0.0) / b))
    higher, lower = b_open > 0 or a_over, a_open > 0 or b_over
    return Compared(ratio, u_ratio, a - b, u_difference, at_least=higher, at_most=lower)
