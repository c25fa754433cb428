"""Are verdicts as reliable as they say? Truths scattered around a limit, instruments erring as their budgets say.

METHODS M9 promises that "below" and "above" are each wrong at most one time in twenty. Truth, zero, span and noise are
drawn; the instrument's readings are averaged, budgeted and judged by the modules under test, and counted.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import sqrt

import numpy as np
import pytest

from reports.uncertainty import autocorrelation, budget
from reports.verdicts import Estimate, Levels, Verdict, judge
from tests.pure.limit_samples import a_limit

LIMIT = 0.1
ZERO_U, SPAN_U, NOISE, STEP = 0.004, 0.06, 0.012, 0.001
TRIALS = 1500


@dataclass(frozen=True)
class Count:
    """Verdicts over many trials, as shares of all trials, and wrong ones as shares of that verdict."""

    below: float
    above: float
    wrong_below: float
    wrong_above: float

    @property
    def undecided(self) -> float:
        return 1 - self.below - self.above


def simulate(
    truths: Callable[[np.random.Generator], float],
    *,
    n: int = 30,
    rho: float = 0.0,
    levels: Levels | None = None,
    trials: int = TRIALS,
    is_estimated: bool = False,
) -> Count:
    """Judge ``trials`` visits of ``n`` readings; ``is_estimated``: scatter and ρ from the readings, else as drawn."""
    rng = np.random.default_rng(20250301)
    limit = a_limit(str(LIMIT))
    verdicts = {Verdict.BELOW: [0, 0], Verdict.ABOVE: [0, 0], Verdict.UNDECIDED: [0, 0]}
    for _ in range(trials):
        truth = truths(rng)
        noise = rng.normal(0, NOISE, n)
        for k in range(1, n if rho else 1):
            noise[k] = rho * noise[k - 1] + sqrt(1 - rho**2) * noise[k]
        raw = truth * (1 + rng.normal(0, SPAN_U)) + rng.normal(0, ZERO_U) + noise
        readings = np.round(raw / STEP) * STEP
        mean = float(readings.mean())
        parts = budget(
            mean,
            n=n,
            rho=autocorrelation(readings) if is_estimated else rho,
            s=float(readings.std(ddof=1)) if is_estimated else NOISE,
            resolution=STEP,
            zero_u=ZERO_U,
            span_u_rel=SPAN_U,
            drift_u=0.0,
            temperature_u=0.0,
            interference_u=0.0,
        )
        verdict = judge(Estimate(value=mean, budget=parts), limit, levels).verdict
        verdicts[verdict][0] += 1
        is_wrong = truth > LIMIT if verdict is Verdict.BELOW else truth <= LIMIT
        verdicts[verdict][1] += is_wrong
    below, above = verdicts[Verdict.BELOW], verdicts[Verdict.ABOVE]
    return Count(below[0] / trials, above[0] / trials, below[1] / max(below[0], 1), above[1] / max(above[0], 1))


def around_the_limit(rng: np.random.Generator) -> float:
    return float(rng.uniform(0.04, 0.16))


@pytest.mark.parametrize(
    ("n", "rho", "is_estimated"),
    [(30, 0.0, False), (30, 0.8, False), (5, 0.0, False), (30, 0.0, True), (60, 0.6, True)],
)
def test_below_and_above_are_each_wrong_at_most_one_time_in_twenty(n: int, rho: float, is_estimated: bool) -> None:
    found = simulate(around_the_limit, n=n, rho=rho, is_estimated=is_estimated)
    assert found.below > 0.2
    assert found.above > 0.2
    assert found.wrong_below <= 0.05
    assert found.wrong_above <= 0.05


@pytest.mark.parametrize("is_estimated", [False, True])
def test_even_where_every_truth_lies_at_the_limit(is_estimated: bool) -> None:
    """The worst case: each verdict is then wrong as often as it is given (above, for a truth at the limit, counts)."""
    found = simulate(lambda rng: LIMIT, is_estimated=is_estimated)
    margin = 3 * sqrt(0.05 * 0.95 / TRIALS)
    assert found.below == pytest.approx(0.05, abs=margin)
    assert found.above <= 0.05 + margin


def test_stricter_levels_are_wrong_less_often() -> None:
    found = simulate(lambda rng: LIMIT, levels=Levels(0.99, 0.01))
    margin = 3 * sqrt(0.01 * 0.99 / TRIALS)
    assert found.below == pytest.approx(0.01, abs=margin)
    assert found.above <= 0.01 + margin


def test_undecided_shrinks_with_readings_only_as_far_as_the_systematic_part_allows() -> None:
    """The share of undecided falls to, and not below, that of an instrument without noise."""
    few, some, many = (simulate(around_the_limit, n=n, trials=1500).undecided for n in (2, 10, 400))
    systematic = sqrt(ZERO_U**2 + STEP**2 / 12)
    low = 1.645 * sqrt(systematic**2 + (SPAN_U * LIMIT) ** 2)
    room = 1 - (1.645 * SPAN_U) ** 2
    high = (LIMIT + 1.645 * sqrt((SPAN_U * LIMIT) ** 2 + room * systematic**2)) / room - LIMIT
    floor = (low + high) / (0.16 - 0.04)
    assert few > some > many
    assert many == pytest.approx(floor, abs=0.03)
    assert many > 0.15
