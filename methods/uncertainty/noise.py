"""The noise of the instrument itself, apart from what really changed (docs/methods/uncertainty.md; after ISO 11222).

What changed inside a window that was measured whole is no uncertainty of its mean. What is left is how far a reading of
one and the same air strays: as the instrument's type says, else from second differences of the readings, in which a
steady rise drops out. Noise ahead of a slow sensor lasts: its autocorrelation follows from the response time, and is
believed unless quiet stretches of the log show another. Pure.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import exp, inf, log, sqrt

import numpy as np
from scipy.optimize import brentq

from methods.averages.series import Series
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.flags import Flag

#: Readings that are looked at together: of a longer log the middle block speaks, whatever a door does to some of them.
BLOCK, ENOUGH_BLOCKS = 30, 8
#: The ratio that tells how noise lasts comes out too low in the quieter blocks, by up to a fifth of what it is above
#: one, and strays by chance with the number of second differences: twice its standard deviation (found by simulation).
OF_QUIET, CHANCE, CHANCE_OF_WHITE = 0.75, 6.6, 4.2
#: Noise that lasts less is taken for such as does not; below the other it is a tenth larger at most than if it did not,
#: and the log is not asked.
SHORT, NOT_ASKED = 0.05, 0.15
#: Of autocorrelations beyond there is nothing left.
MOST_LAGS = 400
#: Fewer second differences do not tell noise that lasts from noise that does not.
FEWEST_THAT_TELL = 60
#: Beyond this the second differences hold too little of the noise to give it back (project rule).
LARGEST_RHO = 0.9
#: Less noise beside that of rounding shows nothing of how it lasts.
LITTLE = 0.5
#: Noise that lasts is looked at over so many times as long.
LASTING = 4
#: Stamps of readings that follow each other at the logging interval, as loggers print them.
UNEVEN = 0.25
#: A detection limit is this many standard deviations of the noise (ISO 11843, from memory).
DETECTION_FACTOR = 3.3
#: What the median of independent variances tells of their mean, beside all of them together (asymptotically 2/π).
OF_MEDIAN = 0.64


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard deviation of single readings of one and the same air, in the unit of the readings; None: not known.

    ``rho``: autocorrelation from one reading to the next; ``dof``: degrees of freedom of ``sigma``; ``source``: where
    it is from, in words. ``is_scatter``: nothing tells noise from change, and the scatter of readings stands for it.
    """

    sigma: float | None
    rho: float = 0.0
    dof: float = inf
    source: str = ""
    is_scatter: bool = False

    def of_mean(self, n: int) -> float | None:
        """Standard uncertainty of the mean of ``n`` readings in turn."""
        return None if self.sigma is None else self.sigma / sqrt(effective_n(n, self.rho))

    def times(self, factor: float) -> Noise:
        """In another unit, or weighted."""
        return self if self.sigma is None else replace(self, sigma=self.sigma * abs(factor))


def effective_n(n: int, rho: float) -> float:
    """Number of independent readings that carry as much as ``n`` of autocorrelation ρᵏ: n/(1 + 2Σ(1 − k/n)ρᵏ).

    ``rho`` from 0 up to, but not, 1; less counts as 0. ValueError for no readings, or noise that never ends.
    """
    if n < 1:
        raise ValueError("no readings")
    if not rho < 1:
        raise ValueError("an autocorrelation is below one")
    if rho <= 0:
        return float(n)
    return n * n / variance_of_sum(n, rho)


def variance_of_sum(n: int, rho: float) -> float:
    """Of ``n`` values of variance 1 in turn, autocorrelation ρᵏ at lag k."""
    if rho <= 0:
        return float(n)
    rest = 1 - rho
    return n + 2 * rho * (n * rest - (1 - rho**n)) / rest**2


def lasting(t90_s: float, interval_s: float) -> float:
    """Autocorrelation from one reading to the next of noise ahead of a sensor of that response time: e^(−2.303 Δ/T90),
    of a first-order lag (common practice, no source)."""
    return exp(-log(10) * interval_s / t90_s) if t90_s > 0 else 0.0


# --- second differences -----------------------------------------------------------------------------------------------


def second_difference_factor(rho: float, lag: int = 1) -> float:
    """Mean square of x₍ᵢ₋ₖ₎ − 2xᵢ + x₍ᵢ₊ₖ₎ over the variance, for autocorrelation ρᵏ."""
    at_lag = rho**lag
    return 6 - 8 * at_lag + 2 * at_lag**2


def degrees_of_freedom(n: int, rho: float) -> float:
    """Of a variance from the n − 2 second differences of ``n`` readings: (n − 2)/(1 + 2Σrₖ²), at least 1.

    rₖ is the autocorrelation of the differences themselves, from that of the noise (Bartlett's formula, from memory).
    """
    return 1.0 if n < 3 else max(1.0, (n - 2) / _alike(min(n - 2, MOST_LAGS), rho))


@lru_cache(maxsize=1024)
def _alike(most: int, rho: float) -> float:
    """1 + 2Σrₖ² over fewer than ``most`` lags."""
    lags = np.arange(-2, most + 2)
    of_noise = np.where(lags == 0, 1.0, rho ** np.abs(lags)) if rho > 0 else (lags == 0).astype(np.float64)
    of_differences = np.convolve(of_noise, [1, -4, 6, -4, 1], mode="valid")
    r = of_differences[1:] / of_differences[0]
    return 1 + 2 * float(r @ r)


def second_differences(values: Floats, even: Bools, lag: int = 1) -> Floats:
    """x₍ᵢ₋ₖ₎ − 2xᵢ + x₍ᵢ₊ₖ₎ of readings [n] in turn, NaN across a gap; ``even`` [n − 1]: none to the next one."""
    if len(values) < 2 * lag + 1:
        return np.empty(0)
    out: Floats = values[: -2 * lag] - 2 * values[lag:-lag] + values[2 * lag :]
    if even.all():
        return out
    gaps = np.concatenate([[0], np.cumsum(~even)])
    return np.where(gaps[2 * lag :] == gaps[: -2 * lag], out, np.nan)


def noise_of(
    series: Series,
    *,
    step: float,
    t90_s: float | None = None,
    repeatability: float | None = None,
    detection_limit: float | None = None,
    stable: Noise | None = None,
) -> Noise:
    """The noise of the instrument that logged ``series``, all in its unit.

    ``step``: of the display; rounding makes at least step/√12 of noise. ``repeatability``: standard deviation of single
    readings as the instrument's type says, None where it says nothing. ``detection_limit``: from which noise follows
    where no reading is above it. ``stable``: what this meter's own stretches in zero or common air show
    (``stable_air.together``), which comes before all else.
    """
    if stable is not None and stable.sigma is not None:
        return replace(stable, sigma=max(stable.sigma, step / sqrt(12)), rho=min(stable.rho, LARGEST_RHO))
    values, even = _measured(series)
    rounding = step**2 / 12
    rho, why = _rho(values, even, rounding, series.interval_ms, t90_s)
    floor = sqrt(rounding)
    if repeatability is not None:
        return Noise(max(repeatability, floor), min(rho, LARGEST_RHO), source="instrument type" + why)
    squares = second_differences(values, even) ** 2
    squares = squares[np.isfinite(squares)]
    if not len(squares):
        if detection_limit is not None and len(values) < len(series.cells.index):
            return Noise(detection_limit / DETECTION_FACTOR, source="detection limit / 3.3")
        return Noise(None)
    if rho > LARGEST_RHO:
        return _scatter_of_stretches(values, rho, floor)
    square, n = _typical(squares, rho)
    # rounding does not last: it is taken out of the differences, and added to what is left
    variance = max(square - second_difference_factor(0.0) * rounding, 0.0) / second_difference_factor(rho)
    dof = degrees_of_freedom(round(n) + 2, rho)
    return Noise(sqrt(variance + rounding), rho, dof, f"second differences of {len(squares) + 2} readings{why}")


def _measured(series: Series) -> tuple[Floats, Bools]:
    """Values that are no "<", and where the next one follows at the logging interval."""
    cells, unlike = series.cells, int(Flag.BELOW_DETECTION | Flag.OVER_RANGE)
    if len(cells.index) == len(series.value) and not (series.flags & unlike).any():
        values, stamps = series.value, series.utc_ms
    else:
        index: Ints = cells.index[(series.flags[cells.index] & unlike) == 0]
        values, stamps = series.value[index], series.utc_ms[index]
    return values, np.abs(np.diff(stamps) - series.interval_ms) <= UNEVEN * series.interval_ms


def _typical(squares: Floats, rho: float) -> tuple[float, float]:
    """Mean square of a log's typical block, and how many differences that is worth."""
    blocks = len(squares) // BLOCK
    if blocks < ENOUGH_BLOCKS:
        return float(squares.mean()), float(len(squares))
    means = squares[: blocks * BLOCK].reshape(blocks, BLOCK).mean(axis=1)
    dof = degrees_of_freedom(BLOCK + 2, rho)
    median_over_mean = (1 - 2 / (9 * dof)) ** 3  # of a χ² (Wilson and Hilferty 1931, from memory)
    return float(np.median(means)) / median_over_mean, OF_MEDIAN * len(squares)


def _scatter_of_stretches(values: Floats, rho: float, floor: float) -> Noise:
    """Of stretches in which noise that lasts shows most of itself, the typical one: what a real change adds elsewhere
    is left out. As values differ from the mean of a stretch less than from the true one, that is put right."""
    length = min(
        max(BLOCK, round(LASTING * (1 + rho) / (1 - rho))), max(len(values) // ENOUGH_BLOCKS, BLOCK), len(values)
    )
    blocks = len(values) // length
    independent = effective_n(length, rho)
    variances = values[: blocks * length].reshape(blocks, length).var(axis=1, ddof=0) / (1 - 1 / independent)
    dof = max(independent - 1, 1.0)
    typical = float(np.median(variances)) / (1 - 2 / (9 * dof)) ** 3 if blocks >= ENOUGH_BLOCKS else variances.mean()
    worth = blocks * (OF_MEDIAN if blocks >= ENOUGH_BLOCKS else 1)
    told = f"scatter of readings: noise that lasts (autocorrelation {rho:.2f}) cannot be told from real change"
    return Noise(max(sqrt(typical), floor), rho, max(dof * worth, 1.0), told, is_scatter=True)


# --- noise that lasts -------------------------------------------------------------------------------------------------


def _rho(values: Floats, even: Bools, rounding: float, interval_ms: int, t90_s: float | None) -> tuple[float, str]:
    """Autocorrelation of the noise, and what to say of it; ``rounding``: the variance that rounding adds."""
    expected = 0.0 if t90_s is None else lasting(t90_s, interval_ms / 1000)
    at_most = 1 + OF_QUIET * (_ratio_at(expected) - 1)
    if expected > SHORT and (expected < NOT_ASKED or (at_most - 1) * sqrt(len(values)) < CHANCE - CHANCE_OF_WHITE):
        return expected, _as_slow(expected)  # so few readings could not contradict it, or little would come of it
    ratio, n = _ratio_in_quiet_stretches(values, even, rounding)
    if expected > SHORT:
        if n >= FEWEST_THAT_TELL and ratio < at_most - CHANCE / sqrt(n):
            return 0.0, "; quiet stretches show that it does not last"
        return expected, _as_slow(expected)
    if t90_s is None and n >= FEWEST_THAT_TELL and ratio > 1 + CHANCE / sqrt(n):
        shown = _rho_of(ratio)
        return shown, f"; in quiet stretches it lasts (autocorrelation {shown:.2f})"
    return 0.0, ""


def _as_slow(rho: float) -> str:
    return f"; as slow as the sensor (autocorrelation {rho:.2f})"


def _ratio_at(rho: float) -> float:
    return second_difference_factor(rho, 2) / second_difference_factor(rho)


def _rho_of(ratio: float) -> float:
    if ratio >= _ratio_at(LARGEST_RHO):
        return LARGEST_RHO
    return float(brentq(lambda rho: _ratio_at(rho) - ratio, 0.0, LARGEST_RHO))


def _ratio_in_quiet_stretches(values: Floats, even: Bools, rounding: float) -> tuple[float, int]:
    """Mean square of second differences over two readings by that over one, in the quieter half of the blocks, without
    what rounding adds; and how many differences that rests on: none where there is little else. Noise that does not
    last gives 1, noise that does up to 2, real change more."""
    near, far = second_differences(values, even), second_differences(values, even, lag=2)
    if not len(far):
        return 1.0, 0
    near = near[1:-1]
    both = np.isfinite(near) & np.isfinite(far)
    if not both.all():
        near, far = near[both], far[both]
    near, far = _quieter(near**2, far**2)
    if not near.size:
        return 1.0, 0
    added = second_difference_factor(0.0) * rounding
    below, above = float(near.mean()) - added, float(far.mean()) - added
    return (above / below, near.size) if below > LITTLE * added and below > 0 else (1.0, 0)


def _quieter(near: Floats, far: Floats) -> tuple[Floats, Floats]:
    """Of both, the quieter half of the blocks; all of them where there are fewer than four."""
    blocks = len(near) // BLOCK
    if blocks < 4:
        return near, far
    near, far = (each[: blocks * BLOCK].reshape(blocks, BLOCK) for each in (near, far))
    quiet = np.argsort((near + far).mean(axis=1), kind="stable")[: blocks // 2]
    return near[quiet], far[quiet]
