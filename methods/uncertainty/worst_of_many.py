"""How much the worst of many windows lies above a typical one by noise alone (docs/methods/verdicts.md).

The worst window was not chosen beforehand: its noise is that of the largest of many. Windows that overlap share most of
their noise, so that they are worth far fewer independent ones. The expected largest follows from how fast the noise of
the mean changes as the window moves on, with the correction for steps of one reading (Siegmund 1985; Siegmund and
Yakir 2007: from memory), and is held against simulation by the tests. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, inf, isinf, log, pi, sqrt

import numpy as np
from scipy.special import log_ndtr, ndtr, ndtri

from methods.averages.rivals import Within
from methods.averages.series import Series
from methods.quantities.arrays import Floats
from methods.quantities.durations import MINUTE_MS
from methods.uncertainty import student
from methods.uncertainty.noise import Noise, variance_of_sum

#: Where the expectation is summed up, in standard deviations: nothing is left beyond them in 1e12 windows.
STEP = 0.02
_U: Floats = np.arange(-6.0, 8.0, STEP)
#: Below this height crossings of it are no rare events, and the formula is held as it is here.
RARE_FROM = 2.0
#: Of the normal distribution.
AT_95 = student.quantile(0.95, inf)
#: A window whose mean lies further from the worst one than this many standard deviations of the difference of two means
#: is not the worst by chance.
WITHIN = 4.0
#: Noise of which no more is left has ended.
LEFT = 0.05


@dataclass(frozen=True, slots=True)
class Choice:
    """What it does to a value that it was chosen for being the worst of many.

    ``excess``: how much too high it is expected to lie by noise alone, in its unit; ``spread``: how far the noise of
    such a value reaches up from there, in standard deviations of a value that was not chosen.
    """

    excess: float = 0.0
    spread: float = 1.0

    def times(self, factor: float) -> Choice:
        return Choice(self.excess * factor, self.spread)


UNCHOSEN = Choice()


def choice(noise: Noise, n: int, further: int, apart: int = 0) -> Choice:
    """Of the largest of 1 + ``further`` + ``apart`` means of ``n`` readings each of one true value, in the unit of the
    noise. Of the ``further`` ones each begins one reading after another of them, and of those ``apart`` each shares no
    noise with any before. Nothing where the noise is not known."""
    return _chosen(noise.of_mean(n), noise.dof, n, (further, apart), noise.rho)


def choice_of_apart(values: Sequence[float], u: float | None, dof: float, *, lowest: bool = False) -> Choice:
    """Of the largest (or ``lowest``) of several means that share no noise, of each of which it makes ``u``, as means of
    whole days; its excess is below zero where it is the lowest."""
    if not u or len(values) < 2:
        return UNCHOSEN
    sign = -1.0 if lowest else 1.0
    worst = max(sign * value for value in values)
    near = sum(sign * value >= worst - WITHIN * sqrt(2) * u for value in values)
    return _chosen(u, dof, 1, (0, near - 1), 0.0).times(sign)


def _chosen(sigma: float | None, dof: float, n: int, others: tuple[int, int], rho: float) -> Choice:
    if not sigma or sum(others) < 1:
        return UNCHOSEN
    expected, spread = _largest(n, *others, round(max(rho, 0.0), 3))
    return Choice(sigma * expected * _of_few(dof), spread)


def _of_few(dof: float) -> float:
    """How much further noise of which little is known may reach: Student's t against the normal distribution at 95 %
    (project rule, held against simulation)."""
    return 1.0 if isinf(dof) else student.quantile(0.95, max(dof, 1.0)) / AT_95


def rivals_within(noise: Noise, series: Series, minutes: float) -> Within:
    """How far the mean of a window of ``minutes`` may lie from the worst one to have been it by chance, and how far
    apart two of them share no noise: no reading, and none that noise lasts to."""
    n = max(round(minutes * MINUTE_MS / series.interval_ms), 1)
    sigma = noise.of_mean(n)
    lasts = log(LEFT) / log(noise.rho) if noise.rho > LEFT else 1.0
    return Within(inf if sigma is None else WITHIN * sqrt(2) * sigma, n + ceil(lasts))


@lru_cache(maxsize=4096)
def _largest(n: int, further: int, apart: int, rho: float) -> tuple[float, float]:
    """Its expectation ∫₀ (1 − F) − ∫⁰ F, with F the chance that all stay below u; and how far above that its 95 % point
    lies, as a normal distribution of that spread would have it. In standard deviations of one mean."""
    per_reading, step = _change(n, rho)
    positive = np.maximum(_U, 0.0)
    height = np.exp(-_U * _U / 2) / sqrt(2 * pi)
    rate = per_reading * positive * height * _of_steps(positive * sqrt(2 * step))
    alone = log_ndtr(_U)
    share = np.minimum(rate / -alone, 1.0)
    share = np.where(RARE_FROM > _U, np.interp(RARE_FROM, _U, share), share)
    all_below = np.exp(alone * (1 + apart + further * share))
    expected = float(((_U > 0) - all_below).sum() * STEP)
    high = float(np.interp(0.95, all_below, _U))
    return max(expected, 0.0), min((high - expected) / float(ndtri(0.95)), 1.0)


def _change(n: int, rho: float) -> tuple[float, float]:
    """One minus the autocorrelation of the noise of the mean, per reading that the window moves on: over half the time
    that noise lasts (a mean of lasting noise is smooth over less), and over one reading."""

    def unlike(lag: int) -> float:
        shared = variance_of_sum(n + lag, rho) + variance_of_sum(n - lag, rho) - 2 * variance_of_sum(lag, rho)
        return 1 - shared / (2 * variance_of_sum(n, rho))

    lag = min(max(round((1 + rho) / (1 - rho) / 2), 1), n)
    return unlike(lag) / lag, unlike(1)


def _of_steps(x: Floats) -> Floats:
    """Siegmund's ν: how many of the crossings of a path one sees at steps, 1 for infinitely small ones."""
    x = np.maximum(x, 1e-9)
    below = ndtr(x / 2)
    density = np.exp(-x * x / 8) / sqrt(2 * pi)
    out: Floats = (2 / x) * (below - 0.5) / ((x / 2) * below + density)
    return out
