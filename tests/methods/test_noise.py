"""The noise of the instrument from the readings themselves, beside series whose noise is known.

Method: docs/methods/uncertainty.md.
"""

from __future__ import annotations

from math import exp, inf, log, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import lfilter

from methods.averages import Rivals, Series, Within
from methods.averages.rivals import rivals_of
from methods.quantities.arrays import Floats
from methods.quantities.flags import Flag
from methods.uncertainty.budget import NOISE, SCATTER, Scatter, coverage_part, expanded, noise_part
from methods.uncertainty.noise import Noise, degrees_of_freedom, effective_n, lasting, noise_of
from methods.uncertainty.worst_of_many import choice, choice_of_apart
from tests.methods.series_samples import series

T90_OF_HALF = 60 * log(10) / log(2)  # a minute later half of the noise is left


def lasting_noise(n: int, rho: float, seed: int = 1) -> Floats:
    """Of variance 1 and autocorrelation ρᵏ."""
    fresh = np.random.default_rng(seed).standard_normal(n + 300)
    return np.asarray(lfilter([sqrt(1 - rho**2)], [1.0, -rho], fresh)[300:])


def logged(values: Floats, **changes: object) -> Series:
    return series([float(m) for m in range(len(values))], list(values), **changes)  # type: ignore[arg-type]


def test_check_values_of_the_budget() -> None:
    """c = 1, noise 10, n = 60: 1.29; c = 0.25, s = 400, n_s = 5: 154.9 (worked by hand)."""
    assert noise_part(Noise(10.0), Scatter(60, None, 0.0, 0)).u == pytest.approx(1.29, abs=0.005)
    assert coverage_part(0.25, Scatter(5, 400.0, 0.0, 0)).u == pytest.approx(154.9, abs=0.05)
    assert coverage_part(1.0, Scatter(5, 400.0, 0.0, 0)).u == 0.0


@pytest.mark.parametrize("rho", [0.0, 0.3, 0.8])
def test_effective_number_is_the_sum_over_all_pairs(rho: float) -> None:
    pairs = sum(rho ** abs(i - j) for i in range(12) for j in range(12))
    assert effective_n(12, rho) == pytest.approx(144 / pairs)


def test_a_sensor_lags_by_its_response_time() -> None:
    """After T90 a tenth is left."""
    assert lasting(60, 60) == pytest.approx(0.1)
    assert lasting(120, 60) == pytest.approx(exp(-log(10) / 2))


@pytest.mark.parametrize("n", [60, 2000])
def test_of_noise_that_does_not_last(n: int) -> None:
    noise = noise_of(logged(5 + 0.2 * lasting_noise(n, 0.0)), step=0.001)
    assert noise.sigma == pytest.approx(0.2, rel=4 / sqrt(2 * noise.dof))
    assert noise.rho == 0.0
    assert noise.dof < n


@pytest.mark.parametrize("slope", [0.01, 5.0])
def test_a_steady_rise_is_no_noise(slope: float) -> None:
    values = 0.2 * lasting_noise(400, 0.0)
    still, rising = (noise_of(logged(values + k * np.arange(400)), step=0.0) for k in (0.0, slope))
    assert rising.sigma == pytest.approx(still.sigma)


def test_a_door_that_opens_a_few_times_is_no_noise() -> None:
    values = 10 + 0.2 * lasting_noise(600, 0.0)
    for at in (100, 300, 301, 450):
        values[at:] += 8.0
    assert noise_of(logged(values), step=0.001).sigma == pytest.approx(0.2, rel=0.2)


def test_noise_that_lasts_as_the_sensor_says() -> None:
    noise = noise_of(logged(0.2 * lasting_noise(2000, 0.5)), step=0.0001, t90_s=T90_OF_HALF)
    assert noise.rho == pytest.approx(0.5)
    assert noise.sigma == pytest.approx(0.2, rel=0.1)


def test_electronic_noise_behind_a_slow_sensor_does_not_last() -> None:
    """Logged every minute with that sensor, it would come out twice as large."""
    noise = noise_of(logged(0.2 * lasting_noise(2000, 0.0)), step=0.0001, t90_s=T90_OF_HALF)
    assert noise.rho == 0.0
    assert "does not last" in noise.source
    assert noise.sigma == pytest.approx(0.2, rel=0.1)


def test_noise_that_can_not_be_told_from_change_is_the_scatter_and_says_so() -> None:
    values = logged(0.2 * lasting_noise(4000, 0.95))
    noise = noise_of(values, step=0.0001, t90_s=60 * log(10) / -log(0.95))
    assert noise.is_scatter
    assert noise.sigma == pytest.approx(0.2, rel=0.3)
    part = noise_part(noise, Scatter(30, None, 0.0, 0))
    assert (part.name, "cannot be told from real change" in (part.source or "")) == (SCATTER, True)


def test_no_less_noise_than_rounding_makes() -> None:
    noise = noise_of(logged(np.full(100, 0.3)), step=0.1)
    assert noise.sigma == pytest.approx(0.1 / sqrt(12))


def test_what_the_type_says_comes_first() -> None:
    noise = noise_of(logged(0.2 * lasting_noise(100, 0.0)), step=0.001, repeatability=0.7)
    assert (noise.sigma, noise.dof) == (0.7, inf)


def test_of_readings_below_detection_a_third_of_the_limit() -> None:
    flags = [int(Flag.BELOW_DETECTION)] * 20
    noise = noise_of(logged(np.full(20, 0.01), flags=flags), step=0.001, detection_limit=0.01)
    assert noise.sigma == pytest.approx(0.01 / 3.3)


@pytest.mark.parametrize("n", [1, 2])
def test_too_few_readings_have_none_that_is_known(n: int) -> None:
    noise = noise_of(logged(np.full(n, 0.3)), step=0.1)
    assert noise.sigma is None
    assert (noise_part(noise, Scatter(n, None, 0.0, 0)).name, noise_part(noise, Scatter(n, None, 0.0, 0)).u) == (
        NOISE,
        None,
    )


@pytest.mark.parametrize("rho", [0.0, 0.6])
def test_degrees_of_freedom_are_those_of_simulated_variances(rho: float) -> None:
    """Of a variance estimate v: 2·mean²/variance of v."""
    rows = np.array([lasting_noise(60, rho, seed) for seed in range(3000)])
    squares = (np.diff(rows, n=2, axis=1) ** 2).mean(axis=1)
    assert degrees_of_freedom(60, rho) == pytest.approx(2 * squares.mean() ** 2 / squares.var(), rel=0.1)


# --- the worst of many ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("n", "further", "rho"),
    [(1, 9, 0.0), (1, 1999, 0.0), (1, 500, 0.9), (30, 90, 0.0), (30, 2000, 0.0), (30, 450, 0.68), (480, 960, 0.0)],
)
def test_the_largest_of_many_is_expected_where_simulations_have_it(n: int, further: int, rho: float) -> None:
    totals = np.cumsum([np.r_[0.0, lasting_noise(n + further, rho, seed)] for seed in range(1200)], axis=1)
    largest = ((totals[:, n:] - totals[:, :-n]) / n).max(axis=1)
    sigma = 1 / sqrt(effective_n(n, rho))
    chosen = choice(Noise(1.0, rho), n, further)
    assert chosen.excess == pytest.approx(largest.mean(), abs=0.15 * sigma)
    high = chosen.excess + 1.645 * chosen.spread * sigma
    assert float((largest > high).mean()) == pytest.approx(0.05, abs=0.03)


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 500), st.integers(1, 5000), st.floats(0, 0.95))
def test_more_windows_exceed_further(n: int, further: int, rho: float) -> None:
    few, many = (choice(Noise(1.0, rho), n, m).excess for m in (further, 2 * further))
    assert 0 <= few <= many <= 6


def test_one_window_was_not_chosen() -> None:
    assert choice(Noise(1.0), 30, 0).excess == 0.0
    assert choice(Noise(None), 30, 100).excess == 0.0
    assert choice_of_apart([1.0], 0.1, inf).excess == 0.0
    assert choice_of_apart([1.0, 1.0], None, inf).excess == 0.0


#: The largest of 2, 3, 5 and 7 independent standard normal numbers is expected here (Tippett 1925; 2 and 3 are 1/√π and
#: 3/(2√π) exactly, the others from memory); ours is summed over steps of 0.02.
@pytest.mark.parametrize(("n", "expected"), [(2, 0.5642), (3, 0.8463), (5, 1.1630), (7, 1.3522)])
def test_windows_that_share_no_noise_are_independent(n: int, expected: float) -> None:
    assert choice(Noise(1.0), 1, 0, n - 1).excess == pytest.approx(expected, abs=0.011)
    assert choice_of_apart([5.0] * n, 1.0, inf).excess == pytest.approx(expected, abs=0.011)
    assert choice_of_apart([5.0] * n, 1.0, inf, lowest=True).excess == pytest.approx(-expected, abs=0.011)


def test_a_day_far_from_the_worst_is_no_rival_of_it() -> None:
    assert choice_of_apart([5.0, 5.0, -1.0], 1.0, inf) == choice_of_apart([5.0, 5.0], 1.0, inf)
    assert choice_of_apart([5.0, 4.0, 12.0], 1.0, inf, lowest=True) == choice_of_apart(
        [5.0, 4.0], 1.0, inf, lowest=True
    )


def test_rivals_are_counted_by_what_lies_between_them() -> None:
    """Two stretches of readings, 9 from the last of one to the first of the other."""
    there = np.zeros(30, np.bool_)
    there[[2, 3, 4, 13, 15]] = True
    assert rivals_of(there, Within(apart=9)) == Rivals(near=4, apart=1)
    assert rivals_of(there, Within(apart=10)) == Rivals(near=13, apart=0)
    assert rivals_of(there[::-1], Within(apart=9)) == Rivals(near=4, apart=1), "time turned round"


@pytest.mark.parametrize(("dof", "excess"), [(inf, 0.0), (5.0, 0.0), (inf, 0.3), (9.0, 2.0), (inf, 5.0)])
def test_u_covers_a_value_that_lies_too_high(dof: float, excess: float) -> None:
    """JCGM 100 F.2.4.5; against a drawn distribution."""
    rng = np.random.default_rng(4)
    errors = excess + (rng.standard_t(dof, 200_000) if dof < inf else rng.standard_normal(200_000))
    assert float((np.abs(errors) <= expanded(1.0, dof, excess)).mean()) == pytest.approx(0.95, abs=0.003)
