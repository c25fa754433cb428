"""Groups of similar exposure (docs/methods/exposure.md), held against published tables, worked examples and a library.

Ids L-01 to L-15 and T-03, T-04 are those of the check values; sources stand beside each.
"""

from __future__ import annotations

from functools import partial
from math import exp, inf, lgamma, log, nan, sqrt

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from methods.exposure import (
    Decision,
    Exposure,
    Lognormal,
    Outcome,
    StatisticalTest,
    fit,
    largest_group,
    noncentral_t,
    preliminary_test,
    probability_plot,
    shapiro_wilk,
    single_shift,
    statistical_test,
    tolerance_factor,
    workers_to_sample,
)
from methods.exposure.noncentral import covered_by
from methods.exposure.rules import WORKERS_TO_SAMPLE
from methods.nondetects.summaries import Refusal
from tests.methods import royston
from tests.methods.t_integrals import noncentral

L10 = np.array([19.7, 39.2, 7.8, 12.8, 10.2, 7.2, 16.1, 5.7])
L15 = np.array([6, 7, 8, 15, 29, 48, 61, 80, 110, 120, 200, 350, 380, 1000, 1400], float)


def group(values: np.ndarray) -> Lognormal:
    found = fit(values)
    assert isinstance(found, Lognormal)
    return found


class TestToleranceFactors:
    @pytest.mark.parametrize(
        ("n", "factor"),
        [
            (3, 7.656), (4, 5.144), (5, 4.203), (6, 3.708), (7, 3.399), (8, 3.187), (9, 3.031), (10, 2.911),
            (12, 2.736), (15, 2.566), (20, 2.396), (25, 2.292), (30, 2.220), (50, 2.065), (100, 1.927),
        ],
    )  # fmt: skip
    def test_l01_coverage_and_confidence_95(self, n: int, factor: float) -> None:
        """Odeh and Owen 1980; EPA Unified Guidance 2009 Table 17-3 (from memory)."""
        assert tolerance_factor(n) == pytest.approx(factor, abs=0.001)

    def test_l02_l03(self) -> None:
        """EPA Unified Guidance Ex. 17-3; n = 20, coverage 99 %, confidence 90 %."""
        assert tolerance_factor(8) == pytest.approx(3.187294, abs=1e-6)
        assert tolerance_factor(20, 0.99, 0.90) == pytest.approx(3.051543, abs=1e-6)

    def test_l04_is_exact_and_not_natrellas_approximation(self) -> None:
        """NIST/SEMATECH e-Handbook §7.2.6.3 prints the approximation 1.8751896; the exact factor is 1.87395."""
        assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(1.87395, abs=5e-6)

    @pytest.mark.parametrize(
        ("n", "factor"),
        [(6, 2.187), (7, 2.120), (8, 2.072), (9, 2.035), (10, 2.005), (15, 1.917), (20, 1.870), (30, 1.820)],
    )
    def test_l05_en_689(self, n: int, factor: float) -> None:
        """EN 689:2018 Annex F: coverage 95 %, confidence 70 % (from memory)."""
        assert tolerance_factor(n, 0.95, 0.70) == pytest.approx(factor, abs=0.001)

    @settings(deadline=None, max_examples=60)
    @given(st.integers(1, 200), st.floats(-5, 60), st.floats(-20, 100))
    @example(1, 1.0, 3.9e-160)
    def test_the_distribution_is_the_integral_that_defines_it(self, dof: int, shift: float, t: float) -> None:
        assert noncentral_t(t, dof, shift) == pytest.approx(noncentral(t, dof, shift), abs=1e-9)

    @settings(deadline=None, max_examples=20)
    @given(st.integers(2, 60), st.floats(0.5, 0.99), st.floats(0.05, 0.99))
    def test_coverage_is_the_inverse(self, n: int, coverage: float, confidence: float) -> None:
        factor = tolerance_factor(n, coverage, confidence)
        assert covered_by(factor, n, confidence) == pytest.approx(coverage, abs=1e-9)

    def test_one_value_has_no_limit(self) -> None:
        with pytest.raises(ValueError, match="two values"):
            tolerance_factor(1)


class TestLognormal:
    def test_l10(self) -> None:
        """EPA Unified Guidance 2009 Ex. 17-3."""
        found = group(L10)
        assert (found.mean_log, found.sd_log) == pytest.approx((2.5085773, 0.6279479), abs=1e-7)
        assert found.tolerance_limit() == pytest.approx(90.9247, abs=1e-4)

    def test_l11(self) -> None:
        found = group(L10)
        assert found.gm == pytest.approx(12.2874, abs=1e-4)
        assert found.gsd == pytest.approx(1.87376, abs=1e-5)
        assert found.percentile() == pytest.approx(34.5173, abs=1e-4)
        assert found.tolerance_limit(0.95, 0.70) == pytest.approx(45.1276, abs=1e-4)
        assert found.exceedance(40).estimate == pytest.approx(0.030080, abs=1e-6)

    def test_l12_duality(self) -> None:
        found = group(L10)
        assert found.exceedance(found.tolerance_limit()).upper == pytest.approx(0.05, abs=1e-9)
        assert found.exceedance(found.tolerance_limit(0.95, 0.05)).lower == pytest.approx(0.05, abs=1e-9)
        tested = statistical_test(found, 45.12764)
        assert isinstance(tested, StatisticalTest)
        assert tested.u_r == pytest.approx(tested.u_t, abs=1e-6)

    def test_l15_air_lead(self) -> None:
        """Real workplace data (NIOSH HETA 89-052); the figures are locked recomputations, except the data."""
        found = group(L15)
        figures = [
            found.mean_log, found.sd_log, found.gm, found.gsd, found.mean, found.mean_unbiased, found.percentile(),
            found.tolerance_limit(), found.tolerance_limit(0.95, 0.70), found.mean_bounds().upper,
            found.exceedance(50).estimate,
        ]  # fmt: skip
        expected = [
            4.332862, 1.739441, 76.162, 5.6942, 345.74, 281.70, 1331.40, 6609.53, 2135.70, 2283.75, 0.59559,
        ]  # fmt: skip
        assert figures == pytest.approx(expected, rel=1e-4)

    def test_bounds_enclose_their_estimate(self) -> None:
        found = group(L15)
        for bounds in (found.exceedance(50), found.mean_bounds(), found.percentile_bounds()):
            assert bounds.lower < bounds.estimate < bounds.upper

    def test_lands_bound_covers_the_true_mean_as_often_as_it_says(self) -> None:
        """2,000 groups of eight from a lognormal of GSD 2.5: the 95 % upper bound lies above the true mean in 95 %."""
        rng = np.random.default_rng(11)
        sigma = log(2.5)
        logs = rng.normal(0.0, sigma, (2000, 8))
        true = exp(sigma**2 / 2)
        covered = 0
        for row in logs:
            found = Lognormal(8, float(row.mean()), float(row.std(ddof=1)))
            # The bound lies above the truth exactly where the level at the truth is above 5 %: no search needed.
            covered += found.land_level(log(true)) > 0.05
        assert covered / 2000 == pytest.approx(0.95, abs=3 * sqrt(0.05 * 0.95 / 2000))

    def test_tolerance_limits_cover_as_often_as_they_say(self) -> None:
        rng = np.random.default_rng(12)
        x = rng.normal(size=(20_000, 6))
        limits = x.mean(axis=1) + tolerance_factor(6, 0.95, 0.70) * x.std(axis=1, ddof=1)
        assert float(np.mean(limits > 1.6448536)) == pytest.approx(0.70, abs=0.01)

    def test_the_unbiased_mean_is_unbiased(self) -> None:
        rng = np.random.default_rng(13)
        logs = rng.normal(0.0, 0.9, (20_000, 6))
        means = [
            Lognormal(6, float(m), float(s)).mean_unbiased
            for m, s in zip(logs.mean(1), logs.std(1, ddof=1), strict=True)
        ]
        assert float(np.mean(means)) == pytest.approx(exp(0.9**2 / 2), rel=0.02)

    @pytest.mark.parametrize(
        ("values", "code"), [([1.0, 2.0], "too_few"), ([1.0, 0.0, 2.0], "not_positive"), ([2.0, 2.0, 2.0], "no_spread")]
    )
    def test_refusals(self, values: list[float], code: str) -> None:
        found = fit(np.array(values))
        assert isinstance(found, Refusal)
        assert found.code == code

    @pytest.mark.parametrize("value", [nan, inf, -inf])
    def test_what_is_no_number_is_no_result(self, value: float) -> None:
        with pytest.raises(ValueError, match="finite"):
            fit(np.array([1.0, 2.0, value, 4.0]))
        with pytest.raises(ValueError, match="finite"):
            Lognormal(6, value, 1.0)
        with pytest.raises(ValueError, match="spread"):
            Lognormal(6, 0.0, abs(value))
        with pytest.raises(ValueError, match="crosses zero"):
            covered_by(value, 6, 0.95)

    @pytest.mark.parametrize("limit", [nan, inf, 0.0, -1.0])
    def test_what_is_no_limit(self, limit: float) -> None:
        six = group(L15)
        for ask in (six.exceedance, partial(statistical_test, six), partial(preliminary_test, [0.1] * 3)):
            with pytest.raises(ValueError, match="above zero"):
                ask(limit)
        with pytest.raises(ValueError, match="above zero"):
            single_shift(0.5, limit, 0.1)


class TestShapeOfResults:
    @pytest.mark.parametrize("n", [3, 4, 5, 6, 10, 11, 12, 30, 200])
    def test_shapiro_wilk_is_roystons(self, n: int) -> None:
        rng = np.random.default_rng(n)
        for x in (rng.normal(size=n), rng.lognormal(size=n), rng.uniform(size=n)):
            assert shapiro_wilk(x) == pytest.approx(royston.shapiro_wilk(x), abs=1e-6)

    def test_shapiro_and_wilks_own_example(self) -> None:
        """Weights of eleven men (Biometrika 52, 1965, from memory): W = 0.79, and p = 0.0067 by Royston."""
        pounds = np.array([148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236], float)
        w, p = shapiro_wilk(pounds)
        assert w == pytest.approx(0.79, abs=0.005)
        assert p == pytest.approx(0.0067, abs=5e-5)

    def test_too_few_or_equal_values(self) -> None:
        with pytest.raises(ValueError, match="3 to 5000"):
            shapiro_wilk(np.array([1.0, 2.0]))
        with pytest.raises(ValueError, match="equal"):
            shapiro_wilk(np.ones(5))

    def test_a_lognormal_lies_on_a_line(self) -> None:
        plot = probability_plot(np.exp(np.linspace(-2, 2, 15)))
        assert plot.correlation > 0.97
        assert list(plot.logs) == sorted(plot.logs)
        mixed = probability_plot(np.array([1.0] * 7 + [1.01] * 7 + [500.0]))
        assert mixed.correlation < 0.7


class TestEn689:
    @pytest.mark.parametrize(
        ("results", "outcome"),
        [
            ((0.09, 0.09, 0.09), Outcome.COMPLIES),
            ((0.09, 0.09, 0.10), Outcome.NO_DECISION),
            ((0.14,) * 4, Outcome.COMPLIES),
            ((0.19,) * 5, Outcome.COMPLIES),
            ((0.05, 0.05, 1.01), Outcome.DOES_NOT_COMPLY),
            ((0.05, 0.05), Outcome.NO_DECISION),
            ((0.2,) * 5, Outcome.NO_DECISION),
            ((0.05, 0.05, 1.0), Outcome.NO_DECISION),
            ((0.05, 0.05, -0.01), Outcome.NO_DECISION),
        ],
    )
    def test_l07_preliminary_test(self, results: tuple[float, ...], outcome: Outcome) -> None:
        """L-06, L-07: EN 689:2018 §5.5.2 (numbers from memory); strict "<"."""
        assert preliminary_test(results, 1.0).outcome is outcome

    @pytest.mark.parametrize("value", [nan, inf])
    def test_what_is_no_number(self, value: float) -> None:
        with pytest.raises(ValueError, match="finite"):
            preliminary_test([0.05, 0.05, value], 1.0)
        with pytest.raises(ValueError, match="finite"):
            single_shift(value, 1.0, 0.1)
        with pytest.raises(ValueError, match="finite"):
            single_shift(0.5, 1.0, value)

    @pytest.mark.parametrize(
        ("limit", "u_r", "outcome"),
        [
            (50, -0.2419, Outcome.DOES_NOT_COMPLY),
            (500, 1.0818, Outcome.DOES_NOT_COMPLY),
            (5000, 2.4056, Outcome.COMPLIES),
        ],
    )
    def test_l15_statistical_test(self, limit: float, u_r: float, outcome: Outcome) -> None:
        found = statistical_test(group(L15), limit)
        assert isinstance(found, StatisticalTest)
        assert (found.u_r, found.u_t) == pytest.approx((u_r, 1.9165), abs=1e-4)
        assert found.decision.outcome is outcome

    def test_six_results_at_least(self) -> None:
        found = statistical_test(group(L15[:5]), 50)
        assert isinstance(found, Decision)
        assert found.outcome is Outcome.NO_DECISION


class TestSingleShift:
    def test_t03_carbaryl(self) -> None:
        """OSHA Technical Manual: 6.07 mg/m³ against 5.0 with a sampling and analytical error of 0.23."""
        found = single_shift(6.07, 5.0, 0.23)
        assert (found.y, found.lower, found.upper) == pytest.approx((1.21, 0.98, 1.44), abs=0.005)
        assert found.exposure is Exposure.POSSIBLE_OVEREXPOSURE

    @pytest.mark.parametrize(
        ("average", "exposure"),
        [
            (0.75, Exposure.NO_VIOLATION),
            (0.76, Exposure.POSSIBLE_OVEREXPOSURE),
            (1.25, Exposure.POSSIBLE_OVEREXPOSURE),
            (1.26, Exposure.VIOLATION),
        ],
    )
    def test_t04_decision_rule(self, average: float, exposure: Exposure) -> None:
        assert single_shift(average, 1.0, 0.25).exposure is exposure


class TestWorkersToSample:
    """NIOSH 77-173 Table 3-1, § 5.3 of the check values (from memory)."""

    @pytest.mark.parametrize(
        ("workers", "confidence", "sample"),
        [
            (8, 0.90, 7), (12, 0.90, 10), (13, 0.90, 11), (24, 0.90, 14), (37, 0.90, 16), (49, 0.90, 17),
            (50, 0.90, 18), (51, 0.90, 22), (5, 0.90, 5), (12, 0.95, 11), (21, 0.95, 15), (31, 0.95, 18),
            (50, 0.95, 21), (400, 0.95, 29), (11, 0.95, 11),
        ],
    )  # fmt: skip
    def test_rows(self, workers: int, confidence: float, sample: int) -> None:
        assert workers_to_sample(workers, confidence) == sample

    @pytest.mark.parametrize("confidence", [0.90, 0.95])
    def test_every_row_is_within_one_of_the_hypergeometric(self, confidence: float) -> None:
        """Chance that none of the top tenth is among n of N, with gamma functions for the fractional tenth."""
        for size, sample in WORKERS_TO_SAMPLE[confidence]:
            k = size / 10

            def missed(n: float, size: int = size, k: float = k) -> float:
                return exp(lgamma(size - k + 1) + lgamma(size - n + 1) - lgamma(size - k - n + 1) - lgamma(size + 1))

            most = size - k + 0.999
            assert missed(min(sample + 1, most)) <= 1 - confidence <= missed(sample - 1)

    @pytest.mark.parametrize(
        ("workers", "confidence", "size"),
        [(3, 0.90, 3), (7, 0.90, 8), (10, 0.90, 12), (18, 0.90, 50), (21, 0.90, 50), (22, 0.90, inf), (11, 0.95, 12)],
    )
    def test_the_largest_group_that_so_many_are_enough_for(self, workers: int, confidence: float, size: float) -> None:
        assert largest_group(workers, confidence) == size

    def test_impossible_questions(self) -> None:
        with pytest.raises(ValueError, match="at least one"):
            workers_to_sample(0)
        with pytest.raises(ValueError, match="confidence"):
            workers_to_sample(10, 0.99)
