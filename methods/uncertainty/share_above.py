"""The share of the time of use that was above a value, and how well it is known (docs/methods/averages.md#time-of-use).

What was measured is known; the interval says what the same use would give over a longer time. Readings that follow each
other are alike, so that n of them count as n_eff = n/τ, with τ = 1 + 2·Σρ_k over the lags k up to where two neighbours
no longer sum to more than nothing (Geyer's initial positive sequence, 1992, from memory). The bounds are those of
Clopper and Pearson (1934) with n_eff for n (Korn and Graubard 1998, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv

from methods.averages import Series
from methods.quantities.arrays import Floats
from methods.quantities.durations import MINUTE_MS

#: Of the interval: one side each.
TAIL = 0.025


@dataclass(frozen=True, slots=True)
class ShareAbove:
    """``minutes_above`` of ``minutes`` measured; ``lower`` to ``upper``: 95 % interval of the share for a longer time;
    ``independent``: as how many independent readings they count."""

    minutes_above: float
    minutes: float
    lower: float
    upper: float
    independent: float

    @property
    def share(self) -> float:
        return self.minutes_above / self.minutes


def share_above(series: Series, value: float, *, or_at: bool = False) -> ShareAbove | None:
    """Of the time that readings of ``series`` stand for. ``or_at``: the value itself counts as above. None without."""
    cells = series.cells
    total = int(cells.total_ms[-1])
    if not total:
        return None
    above = cells.value >= value if or_at else cells.value > value
    above_ms = int((cells.hi - cells.lo)[above].sum())
    n = len(above)
    longest = lasting(cells.value)
    if 0 < above_ms < total:
        longest = max(longest, lasting(above.astype(np.float64)))
    independent = n / longest
    lower, upper = bounds(above_ms / total, independent)
    return ShareAbove(above_ms / MINUTE_MS, total / MINUTE_MS, lower, upper, independent)


def bounds(share: float, n: float) -> tuple[float, float]:
    """Clopper and Pearson's of ``share`` of ``n`` independent ones, which need be no whole numbers."""
    count = share * n
    lower = 0.0 if count <= 0 else float(betaincinv(count, n - count + 1, TAIL))
    upper = 1.0 if count >= n else float(betaincinv(count + 1, n - count, 1 - TAIL))
    return min(lower, share), max(upper, share)


def lasting(values: Floats) -> float:
    """τ, 1 to n: how many readings that follow each other count as one. Of ones that never change all do."""
    n = len(values)
    around = values - values.mean()
    squares = float(around @ around)
    if n < 4 or squares <= 1e-18 * float(values @ values):
        return float(n)
    size = 1 << (2 * n - 1).bit_length()
    spectrum = np.fft.rfft(around, size)
    rho = np.fft.irfft(spectrum * np.conj(spectrum), size)[:n] / squares
    pairs = rho[: n // 2 * 2].reshape(-1, 2).sum(axis=1)
    ends = np.flatnonzero(pairs <= 0)
    kept = pairs[: int(ends[0])] if len(ends) else pairs
    return float(min(max(2 * kept.sum() - 1, 1.0), n))


def allowed_minutes(share: float, occupied_hours: float) -> float:
    """How long ``share`` of the time of use is: 3 % of an 8-hour day are 14.4 min."""
    return share * occupied_hours * 60
