"""Are verdicts as reliable as they say? Truths scattered around a limit, instruments erring as their budgets say.

docs/methods/verdicts.md promises that "below" and "above" are each wrong at most one time in twenty. Truth, zero, span,
drift and noise are drawn; what the instrument would log is put through the modules under test (series, mean, scatter,
budget, verdict), and what they said is counted. Shares are held to 5 % with the margin that chance allows: three
standard deviations of a binomial share, stated beside each.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import log, sqrt

import numpy as np
import pytest

from methods.averages import Series, whole
from methods.quantities.flags import Flag
from methods.uncertainty.budget import Budget, Scatter, budget, noise_part
from methods.uncertainty.noise import Noise, noise_of
from methods.verdicts import Estimate, Levels, Verdict, edges, judge
from tests.methods.limit_samples import a_limit
from tests.methods.series_samples import series

LIMIT = 0.1
TRIALS = 700
Truths = Callable[[np.random.Generator], float]


def margin(trials: int, share: float = 0.05) -> float:
    """Three standard deviations of a share counted in ``trials``."""
    return 3 * sqrt(share * (1 - share) / trials)


@dataclass(frozen=True)
class SimulatedMeter:
    """Standard uncertainties of what is wrong with it, all met exactly by the errors drawn."""

    zero_u: float = 0.004
    span_u: float = 0.06
    drift_u: float = 0.003
    noise: float = 0.012
    rho: float = 0.0
    step: float = 0.001
    detection_limit: float = 0.0

    def readings(self, truth: float, n: int, rng: np.random.Generator) -> np.ndarray:
        noise = rng.normal(0, self.noise, n)
        for k in range(1, n if self.rho else 1):
            noise[k] = self.rho * noise[k - 1] + sqrt(1 - self.rho**2) * noise[k]
        fixed = truth * rng.normal(0, self.span_u) + rng.normal(0, self.zero_u) + rng.normal(0, self.drift_u)
        return np.asarray(np.round((truth + fixed + noise) / self.step) * self.step)

    def noise_in(self, logged: Series) -> Noise:
        """As its readings show it; its response time says how long it lasts."""
        t90 = 60 * log(10) / -log(self.rho) if self.rho else None
        return noise_of(logged, step=self.step, t90_s=t90, detection_limit=self.detection_limit or None)

    def budget(self, mean: float, noise: Noise, n: int) -> Budget:
        return budget(
            mean,
            (noise_part(noise, Scatter(n, None, 0.0, 0)),),
            resolution=self.step,
            zero_u=self.zero_u,
            span_u_rel=self.span_u,
            drift_u=self.drift_u,
            temperature_u=0.0,
            interference_u=0.0,
        )


@dataclass(frozen=True)
class Count:
    """Verdicts over many trials, as shares of all trials, and wrong ones as shares of that verdict.

    ``by_normal``: share called below had Φ been asked instead of Student's t.
    """

    below: float
    above: float
    wrong_below: float
    wrong_above: float
    by_normal: float

    @property
    def undecided(self) -> float:
        return 1 - self.below - self.above


def simulate(
    truths: Truths,
    instrument: SimulatedMeter = SimulatedMeter(),
    *,
    n: int = 30,
    levels: Levels | None = None,
    trials: int = TRIALS,
    is_known: bool = False,
) -> Count:
    """Judge ``trials`` visits of ``n`` one-minute readings; ``is_known``: scatter and ρ as drawn, else estimated."""
    rng = np.random.default_rng(20250301)
    limit = a_limit(str(LIMIT))
    edge = edges(limit)[0]
    said = {verdict: [0, 0] for verdict in Verdict}
    by_normal = 0
    for _ in range(trials):
        truth = truths(rng)
        estimate = _logged(instrument, instrument.readings(truth, n, rng), is_known=is_known)
        verdict = judge(estimate, limit, levels).verdict
        said[verdict][0] += 1
        said[verdict][1] += truth >= LIMIT if verdict is Verdict.BELOW else truth <= LIMIT
        by_normal += edge.p_above(estimate.bounds[1], estimate.budget.combined_at(LIMIT)[0]) <= 0.05
    below, above = said[Verdict.BELOW], said[Verdict.ABOVE]
    return Count(
        below[0] / trials,
        above[0] / trials,
        below[1] / max(below[0], 1),
        above[1] / max(above[0], 1),
        by_normal / trials,
    )


def _logged(instrument: SimulatedMeter, values: np.ndarray, *, is_known: bool) -> Estimate:
    """The estimate from what a logger stores: "< detection limit" where a reading lies under it."""
    n = len(values)
    below = values < instrument.detection_limit
    flags = [int(Flag.BELOW_DETECTION) if one else 0 for one in below]
    stored = np.where(below, instrument.detection_limit, values)
    logged = series([m + 0.5 for m in range(n)], list(stored), end=float(n), flags=flags)
    mean = whole(logged)
    assert mean is not None
    noise = Noise(instrument.noise, instrument.rho) if is_known else instrument.noise_in(logged)
    estimate = Estimate.of(mean, instrument.budget(mean.mean, noise, n))
    return replace(estimate, minutes=None)  # what more minutes would decide is asked elsewhere, and takes its time


def around_the_limit(rng: np.random.Generator) -> float:
    return float(rng.uniform(0.04, 0.16))


def at_the_limit(rng: np.random.Generator) -> float:
    return LIMIT


@pytest.mark.parametrize(
    ("n", "rho", "is_known"),
    [(30, 0.0, True), (30, 0.8, True), (5, 0.0, True), (4, 0.0, False), (30, 0.0, False), (60, 0.6, False)],
)
def test_below_and_above_are_each_wrong_at_most_one_time_in_twenty(n: int, rho: float, is_known: bool) -> None:
    """Zero, span, drift, resolution, autocorrelated noise; not even the margin is needed."""
    found = simulate(around_the_limit, SimulatedMeter(rho=rho), n=n, is_known=is_known)
    assert found.below > 0.2
    assert found.above > 0.2
    assert found.wrong_below <= 0.05
    assert found.wrong_above <= 0.05


@pytest.mark.parametrize(("rho", "is_known"), [(0.0, True), (0.0, False), (0.8, True), (0.4, False)])
def test_even_where_every_truth_lies_at_the_limit(rho: float, is_known: bool) -> None:
    """The worst case: each verdict is then wrong as often as it is given."""
    found = simulate(at_the_limit, SimulatedMeter(rho=rho), is_known=is_known)
    assert found.below == pytest.approx(0.05, abs=margin(TRIALS))
    assert found.above <= 0.05 + margin(TRIALS)


def test_few_readings_do_not_know_their_own_scatter() -> None:
    """JCGM 100 G.4: where scatter governs, Φ calls too much below; Student's t with effective degrees does not."""
    noisy = SimulatedMeter(zero_u=0.0005, span_u=0.0, drift_u=0.0)
    found = simulate(at_the_limit, noisy, n=5, trials=1200)
    assert found.by_normal > 0.05 + margin(1200)
    assert found.below <= 0.05 + margin(1200)
    assert found.above <= 0.05 + margin(1200)
    assert found.below > 0.005


def test_noise_that_lasts_is_not_averaged_away_by_half_an_hour() -> None:
    """ρ = 0.8, estimated from 30 readings that are worth three. ρ itself is poorly known then, and the share comes out
    at 6 to 7 % where every truth lies at the limit and nothing but noise counts: known, and bounded here."""
    wandering = SimulatedMeter(zero_u=0.0005, span_u=0.0, drift_u=0.0, rho=0.8)
    found = simulate(at_the_limit, wandering)
    assert found.below <= 0.085
    scattered = simulate(around_the_limit, wandering)
    assert scattered.wrong_below <= 0.05
    assert scattered.wrong_above <= 0.05


@pytest.mark.parametrize("detection_limit", [0.08, 0.12])
def test_near_the_detection_limit(detection_limit: float) -> None:
    """Readings below detection leave the mean open: never more wrong, and where the limit lies under the detection
    limit, "<" readings show nothing."""
    blunt = SimulatedMeter(detection_limit=detection_limit, step=0.01)
    found = simulate(around_the_limit, blunt, n=10)
    assert found.wrong_below <= 0.05
    assert found.wrong_above <= 0.05
    assert found.above > 0.1
    assert found.below > 0.1 if detection_limit < LIMIT else found.below == 0.0
    worst = simulate(at_the_limit, blunt, n=10)
    assert worst.below <= 0.05 + margin(TRIALS)
    assert worst.above <= 0.05 + margin(TRIALS)


def test_stricter_levels_are_wrong_less_often() -> None:
    found = simulate(at_the_limit, levels=Levels(0.99, 0.01), is_known=True)
    assert found.below == pytest.approx(0.01, abs=margin(TRIALS, 0.01))
    assert found.above <= 0.01 + margin(TRIALS, 0.01)


def test_undecided_shrinks_with_readings_only_as_far_as_the_systematic_part_allows() -> None:
    """The share of undecided falls to, and not below, that of an instrument without noise."""
    meter = SimulatedMeter()
    few, some, many = (simulate(around_the_limit, n=n).undecided for n in (4, 12, 250))
    systematic = sqrt(meter.zero_u**2 + meter.drift_u**2 + meter.step**2 / 12)
    low = 1.645 * sqrt(systematic**2 + (meter.span_u * LIMIT) ** 2)
    room = 1 - (1.645 * meter.span_u) ** 2
    high = (LIMIT + 1.645 * sqrt((meter.span_u * LIMIT) ** 2 + room * systematic**2)) / room - LIMIT
    floor = (low + high) / (0.16 - 0.04)
    assert few > some > many
    assert many == pytest.approx(floor, abs=0.05)
    assert many > 0.15
