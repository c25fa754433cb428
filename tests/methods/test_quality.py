"""Quality control: duplicates, side by side, zero runs, completeness, control chart, acceptance."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from methods.averages.series import Series
from methods.quality.acceptance import MEASURES, QualityOutcome, assess
from methods.quality.completeness import Completeness
from methods.quality.control_chart import FEWEST_POINTS, control_chart, largest_change
from methods.quality.duplicates import cv_bound, disagree, pooled_s, relative_difference
from methods.quality.side_by_side import between_instruments, common_step, of_steps, side_by_side
from methods.quality.zero_runs import DetectionRule, detection_limit, factor
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag

#: Q-01: eight pairs of invented masses; pooled s and upper bound worked out apart from this code.
PAIRS = [(20, 22), (35, 33), (50, 54), (41, 40), (18, 19), (27, 25), (64, 66), (33, 36)]
positive = st.floats(1.0, 1000.0)
some_pairs = st.lists(st.tuples(positive, positive), min_size=3, max_size=20)


def logged(values: list[float] | np.ndarray, interval_s: int = 60, start_ms: int = 0, flags: int = 0) -> Series:
    step, n = interval_s * 1000, len(values)
    return Series(
        utc_ms=start_ms + step * np.arange(n, dtype=np.int64),
        value=np.asarray(values, dtype=np.float64),
        flags=np.full(n, flags, dtype=np.int16),
        interval_ms=step,
        start_ms=start_ms - step,
        end_ms=start_ms + step * (n + 1),
    )


# --- duplicates -------------------------------------------------------------------------------------------------------


def test_pairs_of_the_federal_rule() -> None:
    """Q-01."""
    assert pooled_s(PAIRS) == pytest.approx(1.63936, abs=5e-6)
    bound = cv_bound(PAIRS)
    assert bound is not None
    assert 100 * bound == pytest.approx(7.53789, abs=5e-6)


def test_the_bound_as_the_rule_writes_it() -> None:
    """The sums of the rule itself, with scipy's χ²."""
    d = np.array([100 * (a - b) / ((a + b) / 2) for a, b in PAIRS])
    n = len(d)
    rule = sqrt((n * (d**2).sum() - d.sum() ** 2) / (2 * n * (n - 1))) * sqrt((n - 1) / stats.chi2.ppf(0.1, n - 1))
    assert 100 * (cv_bound(PAIRS) or 0) == pytest.approx(rule, rel=1e-12)


@given(some_pairs, st.floats(0.1, 10))
def test_the_bound_knows_no_unit_and_s_does(pairs: list[tuple[float, float]], factor_: float) -> None:
    other = [(a * factor_, b * factor_) for a, b in pairs]
    assert cv_bound(other) == pytest.approx(cv_bound(pairs), rel=1e-6, abs=1e-9)
    assert pooled_s(other) == pytest.approx(factor_ * pooled_s(pairs), rel=1e-9)


@given(some_pairs)
def test_which_instrument_is_called_the_first_is_no_matter(pairs: list[tuple[float, float]]) -> None:
    other = [(b, a) for a, b in pairs]
    assert cv_bound(other) == pytest.approx(cv_bound(pairs))
    assert pooled_s(other) == pytest.approx(pooled_s(pairs))


def test_the_bound_holds_nine_times_in_ten() -> None:
    """Simulated: of 4,000 sets of 15 pairs, the true variation lies above the bound in 10 %."""
    rng = np.random.default_rng(7)
    true = 0.05
    sets = 100 * (1 + true * rng.standard_normal((4000, 15, 2)))
    below = np.mean([(cv_bound([(a, b) for a, b in pairs]) or 0) >= true for pairs in sets.tolist()])
    assert below == pytest.approx(0.9, abs=0.02)


def test_few_pairs_and_pairs_of_nothing() -> None:
    assert cv_bound(PAIRS[:2]) is None
    assert cv_bound([(0.0, 0.0)] * 5) is None
    assert relative_difference(0.0, 0.0) is None
    assert relative_difference(11.0, 9.0) == pytest.approx(0.2)
    with pytest.raises(ValueError, match="no pairs"):
        pooled_s([])


def test_beyond_what_both_uncertainties_allow() -> None:
    assert disagree(10.0, 3.0, 15.1, 4.0)
    assert not disagree(10.0, 3.0, 14.9, 4.0)
    assert not disagree(10.0, 0.0, 10.0, 0.0)


# --- side by side -----------------------------------------------------------------------------------------------------


def test_between_instruments_is_the_pooled_s_of_duplicates() -> None:
    """Two formulas of two documents for one thing."""
    first, second = (np.array(each, dtype=np.float64) for each in zip(*PAIRS, strict=True))
    assert between_instruments(first, second) == pytest.approx(pooled_s(PAIRS), rel=1e-12)
    with pytest.raises(ValueError, match="no pairs"):
        between_instruments(np.empty(0), np.empty(0))


def test_three_meters_of_which_one_shows_more() -> None:
    air = 100 + 10 * np.sin(np.arange(30) / 3)
    together = side_by_side([logged(air), logged(air + 5), logged(air - 1)])
    assert together is not None
    assert together.steps == 30
    assert [round(bias.bias, 9) for bias in together.biases] == [0.0, 5.0, -1.0]
    assert together.median == pytest.approx(air.mean())
    assert together.biases[1].relative == pytest.approx(5 / air.mean())
    assert [pair.u for pair in together.pairs] == pytest.approx([5 / sqrt(2), 1 / sqrt(2), 6 / sqrt(2)])
    assert together.between == pytest.approx(sqrt((25 + 1 + 36) / 3 / 2))


def test_of_two_meters_the_whole_difference_is_the_bias() -> None:
    """0.9 and 1.1 differ by 0.2, a fifth of their mean; of three each is held against the median."""
    levels = np.array([[0.9], [1.1]]) * np.ones(10)
    together = of_steps(levels, MINUTE_MS)
    assert together is not None
    assert [bias.relative for bias in together.biases] == pytest.approx([-0.2, 0.2])
    assert [assess(MEASURES["bias"], 100 * (b.relative or 0), 10).outcome for b in together.biases] == (
        [QualityOutcome.FAILED] * 2
    )
    three = of_steps(np.vstack([levels, np.ones((1, 10))]), MINUTE_MS)
    assert three is not None
    assert [bias.relative for bias in three.biases] == pytest.approx([-0.1, 0.1, 0.0])


def test_loggers_of_different_intervals_meet_on_the_longer_one() -> None:
    """A steady rise: ten-second values averaged over the five minutes that the other one stores."""
    fast = logged(np.arange(360) / 30, interval_s=10)
    slow = logged((np.arange(12) * 300) / 300, interval_s=300)
    assert common_step([fast, slow]) == 5 * MINUTE_MS
    together = side_by_side([fast, slow])
    assert together is not None
    assert 9 <= together.steps <= 12
    assert abs(together.biases[0].bias) < 0.6  # less than the rise of one interval of the fast one, told in full


def test_only_where_all_of_them_measured() -> None:
    one, other = logged(np.full(20, 1.0)), logged(np.full(20, 3.0), start_ms=12 * MINUTE_MS)
    together = side_by_side([one, other])
    assert together is not None
    assert together.steps == 8
    assert side_by_side([one, logged(np.full(20, 3.0), start_ms=17 * MINUTE_MS)]) is None
    excluded = replace(one, flags=np.where(np.arange(20) < 17, int(Flag.SETTLING), 0).astype(np.int16))
    assert side_by_side([one, excluded]) is None
    with pytest.raises(ValueError, match="at least two"):
        side_by_side([one])


@given(st.integers(2, 5), st.integers(0, 2**32 - 1))
def test_the_order_of_the_meters_is_no_matter(meters: int, seed: int) -> None:
    values = 50 + np.random.default_rng(seed).standard_normal((meters, 12))
    forth, back = of_steps(values, 1000), of_steps(values[::-1], 1000)
    assert forth is not None
    assert back is not None
    assert forth.between == pytest.approx(back.between)
    assert [b.bias for b in forth.biases] == pytest.approx([b.bias for b in reversed(back.biases)])


def test_the_uncertainty_of_a_bias_covers() -> None:
    """Simulated: the true bias of white noise lies within U in 95 % of runs."""
    rng = np.random.default_rng(11)
    inside = 0
    for _ in range(1500):
        found = of_steps(100 + rng.standard_normal((3, 20)) + np.array([[0.0], [0.0], [9.0]]), 1000)
        assert found is not None
        far = found.biases[2]
        # the median of all is the larger of the other two: E = 1/√π above their mean
        inside += abs(far.bias - (9.0 - 1 / sqrt(np.pi))) <= far.expanded
    assert 0.92 <= inside / 1500 <= 0.99


# --- zero runs --------------------------------------------------------------------------------------------------------


def test_seven_readings_of_zero_air() -> None:
    """Q-02: t(0.99, 6) = 3.1427 (40 CFR 136 Appendix B)."""
    assert factor(6) == pytest.approx(3.1427, abs=5e-5)
    values = np.array([0.1, 0.3, 0.2, 0.0, 0.2, 0.4, 0.2])
    limit = detection_limit([values], step=0.01)
    assert limit is not None
    assert limit.rule == DetectionRule.SCATTER
    assert limit.value == pytest.approx(3.1427 * values.std(ddof=1), rel=1e-4)
    assert (limit.n, limit.dof) == (7, 6)


def test_a_run_that_shows_nothing_proves_no_less_than_a_step() -> None:
    limit = detection_limit([np.zeros(30)], step=0.01)
    assert limit is not None
    assert (limit.value, limit.rule) == (0.01, DetectionRule.STEP)
    assert detection_limit([np.zeros(6)], step=0.01) is None


def test_a_zero_that_was_set_between_two_runs_is_no_noise() -> None:
    run = np.array([0.0, 0.1, 0.0, 0.1, 0.0, 0.1])
    one, two = detection_limit([run, run + 5.0], 0.01), detection_limit([run, run], 0.01)
    assert one is not None
    assert two is not None
    assert one.value == pytest.approx(two.value)
    assert one.dof == 10


# --- completeness, control chart, acceptance --------------------------------------------------------------------------


def test_more_than_planned_is_all() -> None:
    assert Completeness(9, 10).share == pytest.approx(0.9)
    assert Completeness(12, 10).share == 1.0
    assert Completeness(0, 0).share is None
    with pytest.raises(ValueError, match="less than none"):
        Completeness(-1, 3)


def test_limits_from_the_moving_range() -> None:
    """2.66 times the mean moving range on both sides of the mean (ISO 7870-2, from memory)."""
    chart = control_chart([10, 12, 10, 12, 10, 12, 10, 12])
    assert chart is not None
    assert chart.centre == 11
    assert chart.upper - chart.centre == pytest.approx(2.66 * 2, rel=1e-3)
    assert chart.outside == ()


def test_a_point_beyond_the_limits_is_named() -> None:
    chart = control_chart([10, 11, 10, 11, 10, 11, 10, 11, 10, 25, 10, 11])
    assert chart is not None
    assert chart.outside == (9,)
    assert control_chart([1.0] * (FEWEST_POINTS - 1)) is None


def test_checks_that_show_one_value_have_limits_a_step_wide() -> None:
    chart = control_chart([0.0] * 11 + [0.01], step=0.02)
    assert chart is not None
    assert chart.outside == ()
    assert chart.upper - chart.centre == pytest.approx(0.02)


def test_the_largest_change_between_neighbours() -> None:
    found = largest_change([0.0, 0.1, -0.4, -0.3])
    assert found is not None
    assert found[0] == 2
    assert found[1] == pytest.approx(-0.5)
    assert largest_change([1.0]) is None


def test_what_keeps_to_its_acceptance_limit() -> None:
    bias, points = MEASURES["bias"], MEASURES["points"]
    assert assess(bias, -10.1, 10).outcome == QualityOutcome.FAILED
    assert assess(bias, -10.0, 10).outcome == QualityOutcome.PASSED
    assert assess(points, 89.9, 90).outcome == QualityOutcome.FAILED
    assert assess(points, 95, 90).outcome == QualityOutcome.PASSED
    assert assess(bias, 3.0, None).why == "no acceptance limit is set"
    assert assess(bias, None, 10, "no side-by-side run").why == "no side-by-side run"
    assert assess(bias, None, None).outcome == QualityOutcome.NOT_ASSESSED
