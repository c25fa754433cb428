"""Generated stays in classrooms: carbon dioxide by mass balance, logged every minute, and how sure its mean is.

Generation by a seated pupil of about 0.0045 L/s is common practice, no source; rooms and meter are invented.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy.signal import lfilter

from methods.averages import Series, whole
from methods.quantities.arrays import Floats
from methods.quantities.stamp_convention import StampConvention
from methods.uncertainty.budget import Component, budget, coverage_part, noise_part, scatter
from methods.uncertainty.noise import noise_of
from methods.verdicts import Estimate, Verdict, judge
from tests.methods.limit_samples import a_limit

STAYS, LIMIT = 145, "1000"
OUTDOORS, LITRES_PER_S = 420.0, 0.0045
U_ZERO, U_SPAN, NOISE, STEP = 20.0, 0.02, 4.0, 1.0


def air(minutes: int, rng: np.random.Generator) -> Floats:
    """Ppm, by the minute: pupils, a room, its air change with windows that open and close, and breath that comes by."""
    per_hour = rng.uniform(16, 32) * LITRES_PER_S * 3.6 / rng.uniform(150, 220) * 1e6
    change = np.full(minutes, rng.lognormal(np.log(1.5), 0.8))
    opened = int(rng.integers(0, minutes))
    change[opened : opened + 8] += rng.choice([0.0, 6.0])
    ppm, now = np.empty(minutes), rng.uniform(450, 1200)
    for k in range(minutes):
        now += (per_hour - change[k] * (now - OUTDOORS)) / 60
        ppm[k] = now
    near = lfilter([1.0], [1.0, -0.85], rng.normal(0, 12, minutes))
    return np.asarray(ppm + near)


def stays() -> list[Series]:
    """As a meter with its errors logs them."""
    rng = np.random.default_rng(145)
    logs = []
    for _ in range(STAYS):
        n = int(rng.integers(45, 180))
        shown = air(n, rng) * (1 + rng.normal(0, U_SPAN)) + rng.normal(0, U_ZERO) + rng.normal(0, NOISE, n)
        stamps = 60_000 * np.arange(1, n + 1, dtype=np.int64)
        values = np.round(shown / STEP) * STEP
        logs.append(Series(stamps, values, np.zeros(n, np.int16), 60_000, 0, 60_000 * n, StampConvention.END))
    return logs


def undecided(logs: list[Series], *, by_scatter: bool) -> int:
    """How many means are; ``by_scatter``: as if what really changed were uncertainty of the mean."""
    limit = a_limit(LIMIT, unit="ppm")
    return sum(judge(_estimate(log, by_scatter=by_scatter), limit).verdict is Verdict.UNDECIDED for log in logs)


def _estimate(log: Series, *, by_scatter: bool) -> Estimate:
    mean = whole(log)
    assert mean is not None
    spread = scatter(log.value, log.flags)
    noise = noise_part(noise_of(log, step=STEP, t90_s=60.0), spread)
    random: tuple[Component, ...] = noise, coverage_part(mean.coverage, spread)
    if by_scatter:
        assert spread.s is not None
        independent = max(spread.n * (1 - spread.rho) / (1 + spread.rho), 1.0)
        random = (Component("scatter", spread.s / independent**0.5, dof=max(independent - 1, 1.0)),)
    parts = budget(
        mean.mean,
        random,
        resolution=STEP,
        zero_u=U_ZERO,
        span_u_rel=U_SPAN,
        drift_u=0.0,
        temperature_u=0.0,
        interference_u=0.0,
    )
    return replace(Estimate.of(mean, parts), minutes=None)
