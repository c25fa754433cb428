"""The noise of a meter from zero air and from side-by-side runs."""

from __future__ import annotations

import numpy as np
import pytest

from methods.quality.zero_runs import zero_off
from methods.quantities.flags import Flag
from methods.uncertainty import student
from methods.uncertainty.noise import noise_of
from methods.uncertainty.stable_air import in_zero_air, side_by_side, together
from tests.methods.test_quality import logged


def test_scatter_in_zero_air_is_the_noise() -> None:
    rng = np.random.default_rng(3)
    run = in_zero_air(logged(2.0 * rng.standard_normal(4000)), 0.01, None)
    assert run is not None
    assert np.sqrt(run.variance) == pytest.approx(2.0, rel=0.05)
    assert run.rho == 0.0
    assert run.dof == pytest.approx(3999)


def test_noise_that_lasts_keeps_its_size_and_loses_degrees_of_freedom() -> None:
    """First-order noise of ρ = 0.79, as a sensor of T90 10 s logged every second makes."""
    rng = np.random.default_rng(4)
    rho = float(np.exp(-np.log(10) / 10))
    x = np.zeros(6000)
    for k in range(1, len(x)):
        x[k] = rho * x[k - 1] + np.sqrt(1 - rho**2) * rng.standard_normal()
    run = in_zero_air(logged(x, interval_s=1), 0.001, t90_s=10)
    assert run is not None
    assert run.rho == pytest.approx(rho, abs=1e-6)
    assert np.sqrt(run.variance) == pytest.approx(1.0, rel=0.08)
    assert run.dof < 1000


def test_a_flat_run_and_a_short_one_say_nothing() -> None:
    assert in_zero_air(logged(np.zeros(40)), 0.01, None) is None
    assert side_by_side(logged(np.zeros(40)), 0.01, None) is None
    assert in_zero_air(logged([0.0, 0.1, 0.2, 0.1, 0.0, 0.1]), 0.01, None) is None


@pytest.mark.parametrize("zero_at", [-1.0, 0.0, 0.5, 1.0, 1.3, 1.6, 1.8, 3.0])
def test_a_display_that_stops_at_zero_makes_no_result_surer(zero_at: float) -> None:
    """Wrong "above" at the limit at 95 %, with what the type says (the truth) where a run tells nothing; simulated.
    ``zero_at``: where the zero lies over the stop, in standard deviations."""
    rng = np.random.default_rng(31)
    wrong, trials = 0, 4000
    for _ in range(trials):
        run = in_zero_air(logged(np.maximum(np.round(zero_at + rng.standard_normal(60), 1), 0.0)), 0.1, None)
        noise = together([run], [], 0.1) if run else None
        sigma, dof = (1.0, np.inf) if noise is None else (noise.sigma or 0.0, noise.dof)
        wrong += rng.standard_normal() / 4 > student.quantile(0.95, dof) * sigma / 4
    assert wrong / trials <= 0.065


@pytest.mark.parametrize(
    ("mean", "n", "tolerance", "rho", "off"),
    [
        (0.5, 100, 0.25, 0.0, True), (-0.5, 100, 0.25, 0.0, True), (0.4, 100, 0.25, 0.0, False),
        (0.5, 100, 0.25, 0.5, False), (5.0, 6, 0.25, 0.0, False), (5.0, 100, None, 0.0, False),
    ],
)  # fmt: skip
def test_a_zero_is_off_where_its_mean_surely_is(
    mean: float, n: int, tolerance: float | None, rho: float, off: bool
) -> None:
    """Scatter 1: u of the mean of 100 is 0.1, and √3 as much where noise of ρ = 0.5 lasts."""
    run = mean + np.tile([1.0, -1.0], n // 2) * np.sqrt((n - 1) / n)
    assert (zero_off(run, tolerance, rho) is not None) is off


@pytest.mark.parametrize("below", [0.0, 0.8, 1.5])
def test_numbers_suppressed_near_zero_are_no_evidence(below: float) -> None:
    values = np.round(np.random.default_rng(7).standard_normal(200), 1)
    assert in_zero_air(logged(np.where(values < below, 0.0, values)), 0.1, None) is None


def test_a_coarse_display_is_no_stop() -> None:
    """Steps of twice the noise: three numbers, of which the outer two are there as often."""
    run = in_zero_air(logged(2 * np.round(np.random.default_rng(7).standard_normal(400) / 2)), 2.0, None)
    assert run is not None
    assert np.sqrt(run.variance) >= 1.0


def test_readings_below_detection_count_in_zero_air() -> None:
    rng = np.random.default_rng(5)
    run = in_zero_air(logged(rng.standard_normal(500), flags=int(Flag.BELOW_DETECTION)), 0.01, None)
    assert run is not None
    assert run.n == 500


def test_air_that_changes_side_by_side_is_no_noise() -> None:
    rng = np.random.default_rng(6)
    air = 100 + 50 * np.sin(np.arange(600) / 60)
    run = side_by_side(logged(air + rng.standard_normal(600)), 0.1, None)
    assert run is not None
    assert np.sqrt(run.variance) == pytest.approx(1.0, rel=0.1)


def test_the_larger_of_both_kinds_counts_and_rounding_is_the_least() -> None:
    rng = np.random.default_rng(8)
    quiet = in_zero_air(logged(0.5 * rng.standard_normal(200)), 0.01, None)
    loud = side_by_side(logged(100 + 2 * rng.standard_normal(200)), 0.01, None)
    assert quiet is not None
    assert loud is not None
    both = together([quiet], [loud], 0.01)
    assert both is not None
    assert both.source.startswith("this meter in side-by-side runs, 200 readings")
    assert both.sigma == pytest.approx(2.0, rel=0.2)
    coarse = together([quiet], [], 10.0)
    assert coarse is not None
    assert coarse.sigma == pytest.approx(10 / np.sqrt(12))
    assert together([], [], 0.01) is None
    short = in_zero_air(logged(rng.standard_normal(10)), 0.01, None)
    assert short is not None
    assert together([short], [], 0.01) is None
    three = together([short, short, short], [], 0.01)
    assert three is not None
    assert three.dof == pytest.approx(27)


def test_own_evidence_comes_before_that_of_the_type() -> None:
    readings = logged(5 + np.random.default_rng(9).standard_normal(60))
    own = together([in_zero_air(readings, 0.01, None)], [], 0.01)  # type: ignore[list-item]
    assert own is not None
    told = noise_of(readings, step=0.01, repeatability=30.0, stable=own.times(2.0))
    assert told.sigma == pytest.approx(2 * (own.sigma or 0))
    assert told.source.startswith("this meter in zero air")
    assert noise_of(readings, step=0.01, repeatability=30.0).source == "instrument type"
