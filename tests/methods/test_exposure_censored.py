"""Bounds of a group with results below detection, against exact ones, an independent likelihood, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize
from scipy.special import ndtri
from scipy.stats import norm

from methods.exposure import CensoredLognormal, Outcome, censored_test, fit, fit_censored
from methods.exposure.censored import critical
from methods.nondetects.summaries import Refusal
from methods.quantities.arrays import Bools, Floats

Z95 = float(ndtri(0.95))


def sample(rng: np.random.Generator, n: int, share: float, sd: float = 0.7) -> tuple[Floats, Bools]:
    """``n`` results of a lognormal about 1, those below its ``share`` quantile at that as their limit."""
    values = np.exp(rng.normal(0.0, sd, n))
    limit = float(np.exp(sd * ndtri(share)))
    below = values < limit
    return np.where(below, limit, values), below


def drawn(seed: int, n: int, share: float, sd: float = 0.7) -> CensoredLognormal:
    """Of the first sample from ``seed`` on that carries bounds."""
    rng = np.random.default_rng(seed)
    while True:
        fitted = fit_censored(*sample(rng, n, share, sd))
        if isinstance(fitted, CensoredLognormal):
            return fitted


@given(seed=st.integers(0, 10_000), n=st.integers(3, 40))
@settings(deadline=None, max_examples=25)
def test_with_everything_measured_the_bounds_are_the_exact_ones(seed: int, n: int) -> None:
    """Those of the non-central t, and Land's (L-10 to L-12, L-15)."""
    values, none = sample(np.random.default_rng(seed), n, 0.0)
    exact, ours = fit(values), fit_censored(values, none)
    assert isinstance(ours, CensoredLognormal)
    assert not isinstance(exact, Refusal)
    for theirs, our in (
        (exact.percentile_bounds(), ours.percentile_bounds()),
        (exact.exceedance(2.0), ours.exceedance(2.0)),
        (exact.mean_bounds(), ours.mean_bounds()),
    ):
        assert (our.lower, our.upper) == pytest.approx((theirs.lower, theirs.upper), rel=1e-5, abs=1e-9)


@given(seed=st.integers(0, 10_000), distance=st.floats(-1.5, 1.5))
@settings(deadline=None, max_examples=15)
def test_the_profile_is_that_of_an_independent_likelihood(seed: int, distance: float) -> None:
    """scipy's normal distribution, maximised by another method."""
    group = drawn(seed, 15, 0.4)
    at = group.mean_log + Z95 * group.sd_log + distance

    def loss(mu: float, sd: float) -> float:
        return -float(norm.logpdf(group.measured, mu, sd).sum() + norm.logcdf(group.limits, mu, sd).sum())

    def held_loss(log_sd: Floats) -> float:
        sd = float(np.exp(log_sd[0]))
        return loss(at - Z95 * sd, sd)

    held = minimize(held_loss, np.zeros(1), method="Nelder-Mead")
    root = np.sqrt(2 * max(held.fun - loss(group.mean_log, group.sd_log), 0.0))
    assert abs(group.signed_root(at, Z95)) == pytest.approx(root, abs=2e-3)
    assert group.signed_root(at, Z95) * distance <= 1e-9


@given(seed=st.integers(0, 10_000), share=st.floats(0.2, 0.6))
@settings(deadline=None, max_examples=20)
def test_exceedance_is_the_inverse_of_the_tolerance_limit(seed: int, share: float) -> None:
    group = drawn(seed, 20, share)
    p95, mean = group.percentile_bounds(), group.mean_bounds()
    assert p95.lower < p95.estimate < p95.upper
    assert mean.lower < mean.estimate < mean.upper
    over = group.exceedance(p95.upper)
    assert over.upper == pytest.approx(0.05, abs=1e-6)
    assert over.lower < over.estimate < over.upper


def test_units_do_not_matter() -> None:
    values, below = sample(np.random.default_rng(3), 20, 0.4)
    one, other = fit_censored(values, below), fit_censored(values * 1000, below)
    assert isinstance(one, CensoredLognormal)
    assert isinstance(other, CensoredLognormal)
    assert other.percentile_bounds().upper == pytest.approx(1000 * one.percentile_bounds().upper, rel=1e-6)


def test_two_measured_results_carry_no_bounds() -> None:
    found = fit_censored(np.array([1.0, 1.0, 2.0, 3.0]), np.array([True, True, False, False]))
    assert isinstance(found, Refusal)
    assert found.code == "few_detects"


def test_the_decision_is_by_the_bound_at_70_per_cent() -> None:
    """EN 689:2018 from memory: 95 % of exposures with 70 % confidence, from six results on."""
    group = drawn(1, 12, 0.3)
    bound = group.percentile_bounds(0.95, 0.70).upper
    assert censored_test(group, bound * 1.001).outcome is Outcome.COMPLIES
    assert censored_test(group, bound * 0.999).outcome is Outcome.DOES_NOT_COMPLY
    assert censored_test(drawn(1, 5, 0.2), 1e6).outcome is Outcome.NO_DECISION


def covered(n: int, share: float, sd: float, runs: int) -> float:
    """How often the 95/95 limit lies above the true 95th percentile."""
    rng, above, carried = np.random.default_rng(n), 0, 0
    while carried < runs:
        group = fit_censored(*sample(rng, n, share, sd))
        if isinstance(group, CensoredLognormal):
            carried += 1
            above += group.signed_root(Z95 * sd, Z95) >= critical(len(group.measured), Z95, 0.95)
    return above / runs


@pytest.mark.slow
@pytest.mark.parametrize("share", [0.3, 0.5, 0.7])
@pytest.mark.parametrize(("n", "sd"), [(6, 1.0), (10, 0.4), (20, 1.0), (50, 0.7)])
def test_the_tolerance_limit_covers(n: int, sd: float, share: float) -> None:
    """95/95 limits cover at least 94 %, with 30 to 70 % of the results below detection."""
    found = covered(n, share, sd, runs=1500)
    print(f"n {n}, GSD {np.exp(sd):.2f}, {share:.0%} below detection: covered {found:.1%}")
    assert found >= 0.94
