"""Distributions with readings below detection, against numpy and scipy where nothing is hidden."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from methods.comparison.distribution import (
    MOST_BINS,
    MOST_STEPS,
    PlaceSample,
    cumulative,
    histogram,
    quantile,
    share_above,
)

LIMIT = 0.25
values_of = arrays(np.float64, st.integers(1, 60), elements=st.floats(0.0, 1.0, allow_nan=False))


def plain(values: np.ndarray, label: str = "Office, centre") -> PlaceSample:
    return PlaceSample(label, values, np.zeros(len(values), dtype=bool))


def censored(values: np.ndarray, limit: float = LIMIT) -> PlaceSample:
    """What a meter with this detection limit would leave of ``values``."""
    below = values < limit
    return PlaceSample("Office, centre", np.where(below, limit, values), below)


@given(values_of, st.floats(0, 1))
@settings(max_examples=60)
def test_without_hidden_readings_quantiles_are_numpys(values: np.ndarray, q: float) -> None:
    found = quantile(plain(values), q)
    assert found.value == pytest.approx(float(np.quantile(values, q)), abs=1e-12)
    assert not found.is_below


@given(values_of, st.floats(0, 1))
@settings(max_examples=120)
def test_a_quantile_is_right_or_said_to_be_below(values: np.ndarray, q: float) -> None:
    """Whatever the true values under the limit were: what is given as a number does not depend on them."""
    true, found = float(np.quantile(values, q)), quantile(censored(values), q)
    if found.is_below:
        assert true <= found.value + 1e-12
    else:
        assert found.value == pytest.approx(true, abs=1e-12)


def test_quantiles_among_hidden_readings_name_the_limit() -> None:
    values = np.array([0.1, 0.1, 0.1, 0.3, 0.5])
    assert (quantile(censored(values), 0.5).value, quantile(censored(values), 0.5).is_below) == (LIMIT, True)
    assert (quantile(censored(values), 0.75).value, quantile(censored(values), 0.75).is_below) == (0.3, False)
    with pytest.raises(ValueError, match="no readings"):
        quantile(plain(np.zeros(0)), 0.5)


def test_a_reading_measured_under_the_highest_limit_hides_with_it() -> None:
    """Two meters: 0.2 was measured by the finer one, but whether "< 0.25" lies above or under it nobody knows."""
    sample = PlaceSample("x", np.array([0.25, 0.2, 0.4]), np.array([True, False, False]))
    assert sample.hidden.tolist() == [True, True, False]
    assert quantile(sample, 0.5).is_below


def test_cumulative_share_is_that_of_scipy() -> None:
    from scipy import stats

    values = np.random.default_rng(3).lognormal(-2, 0.5, 250).round(3)
    x, p = cumulative(plain(values))
    reference = stats.ecdf(values).cdf
    assert x.tolist() == pytest.approx(reference.quantiles.tolist())
    assert p.tolist() == pytest.approx(reference.probabilities.tolist())


def test_cumulative_share_starts_at_the_limit_with_what_is_hidden() -> None:
    values = np.array([0.1, 0.2, 0.3, 0.5])
    x, p = cumulative(censored(values))
    assert (x.tolist(), p.tolist()) == ([LIMIT, 0.3, 0.5], [0.5, 0.75, 1.0])
    many, shares = cumulative(plain(np.linspace(0, 1, 50_000)))
    assert len(many) <= MOST_STEPS
    assert np.abs(shares - many).max() < 1e-4  # thinned, and each share still that of its own value


@given(st.lists(values_of, min_size=1, max_size=3), st.booleans())
@example([np.array([np.nextafter(1.0, 0.0)])], False)  # a hair under a round number
@example([np.array([5e-324, 0.0])], False)  # apart by the least there is
@example([np.array([1.0, 1.0 + 1e-15])], False)
@example([np.array([0.0])], False)
@settings(max_examples=60)
def test_every_reading_is_in_one_bin_or_hidden(parts: list[np.ndarray], hide: bool) -> None:
    samples = [censored(part) if hide else plain(part) for part in parts]
    found = histogram(samples)
    assert (found.shares.sum(axis=1) + found.hidden).tolist() == pytest.approx([1.0] * len(parts))
    assert len(found.edges) - 1 <= MOST_BINS + 2
    assert np.all(np.diff(found.edges) > 0)


def test_bins_count_as_numpy_does_and_follow_the_resolution() -> None:
    values = np.round(np.random.default_rng(5).normal(0.08, 0.004, 400), 3)
    found = histogram([plain(values)], step=0.001)
    width = np.diff(found.edges)[:-1]
    assert width == pytest.approx(np.full(len(width), round(width[0] / 0.001) * 0.001))
    assert (found.shares[0] * 400).tolist() == pytest.approx(np.histogram(values, found.edges)[0].tolist())
    # an edge never falls on a value that can be read, so no reading is a matter of rounding
    assert np.min(np.abs(found.edges[:, None] - values[None, :])) > 0.0004


def test_a_logarithmic_axis_has_equal_steps_and_refuses_what_has_no_place_on_it() -> None:
    values = np.geomspace(0.001, 1.0, 200)
    found = histogram([plain(values)], is_log=True)
    assert np.ptp(np.diff(np.log10(found.edges))) < 1e-9
    assert found.shares.sum() == pytest.approx(1.0)
    with pytest.raises(ValueError, match="not positive"):
        histogram([plain(np.array([0.0, 1.0]))], is_log=True)


def test_everything_below_detection_is_one_block() -> None:
    found = histogram([censored(np.array([0.1, 0.2]))])
    assert (found.hidden.tolist(), found.floor, found.shares.sum()) == ([1.0], LIMIT, 0.0)


def test_share_above_is_left_open_by_a_detection_limit_that_is_higher() -> None:
    sample = censored(np.array([0.1, 0.3, 0.5, 0.6]))
    assert share_above(sample, 0.4) == (0.5, 0.5)
    assert share_above(sample, 0.2) == (0.75, 1.0)


def test_values_must_be_values() -> None:
    with pytest.raises(ValueError, match="have a value"):
        plain(np.array([np.nan]))
    with pytest.raises(ValueError, match="equal length"):
        PlaceSample("x", np.zeros(2), np.zeros(1, dtype=bool))
