"""Results below the detection limit, held against EPA's and Helsel's worked examples and two libraries.

Method: docs/methods/nondetects.md.

Data D1 (manganese), D3 (arsenic, Oahu) and D6 and ids C-01 to C-20 are those of the check values; sources: EPA Unified
Guidance 2009 ch. 15, Helsel, *Nondetects and Data Analysis* 2005 ch. 6 (from memory), Helsel and Cohn 1988.
"""

from __future__ import annotations

from math import exp, log, sqrt
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from methods.nondetects.summaries import (
    Leftover,
    Method,
    Refusal,
    Summary,
    censored_normal,
    exceedance,
    kaplan_meier,
    plotting_positions,
    refused,
    ros_values,
    summarise,
)
from methods.quantities.arrays import Bools, Floats

Data = tuple[Floats, Bools]


def read(text: str) -> Data:
    """Values and marks from "<5 12.1 <2×8": a "<" marks a limit, "×8" repeats."""
    values: list[float] = []
    below: list[bool] = []
    for word in text.split():
        figure, _, times = word.partition("×")
        values += [float(figure.strip("<"))] * int(times or 1)
        below += [figure.startswith("<")] * int(times or 1)
    return np.array(values), np.array(below)


D1 = read("<5 12.1 16.9 21.6 <2 <5 7.7 53.6 9.5 45.9 <5 5.3 12.6 106.3 34.5 6.3 11.9 10 <2 77.2 17.9 22.7 3.3 8.4 <2")
D3 = read("0.5×3 0.6 0.7×2 0.9 <0.9 <1×4 1.5 1.7 <2×8 2.8 3.2")
D6 = read("<1×6 3 7 9 <10×3 12 15 20 27 33 50")


def summary(data: Data, method: Method, leftover: Leftover = Leftover.LOWEST_LIMIT) -> Summary:
    found = summarise(*data, method, leftover)
    assert isinstance(found, Summary)
    return found


class TestKaplanMeier:
    @pytest.mark.parametrize(
        ("leftover", "mean", "sd"),
        [
            (Leftover.LOWEST_LIMIT, 2.3092890, 1.1816102),  # C-01: EPA Unified Guidance Ex. 15-1
            (Leftover.SMALLEST_DETECT, 2.4144518, 1.0478025),  # C-02: the same under the other convention
        ],
    )
    def test_c01_c02_manganese_by_both_conventions(self, leftover: Leftover, mean: float, sd: float) -> None:
        found = summary((np.log(D1[0]), D1[1]), Method.KAPLAN_MEIER, leftover)
        assert (found.mean, found.sd) == pytest.approx((mean, sd), abs=1e-6)
        assert leftover.value.split("_")[0] in found.convention

    def test_standard_error_of_manganese(self) -> None:
        """0.20956, and 0.21530 with √(d/(d − 1)); the 0.1682862 of an old script is not to be used (rule of § 6.2)."""
        found = summary((np.log(D1[0]), D1[1]), Method.KAPLAN_MEIER, Leftover.SMALLEST_DETECT)
        assert found.standard_error == pytest.approx(0.21530, abs=5e-6)
        assert found.standard_error is not None
        assert found.standard_error / sqrt(19 / 18) == pytest.approx(0.20956, abs=5e-6)

    def test_c11_c13_arsenic(self) -> None:
        found = summary(D3, Method.KAPLAN_MEIER)
        assert found.mean == pytest.approx(0.949, abs=5e-4)
        assert found.sd == pytest.approx(0.7130, abs=5e-5)
        assert found.standard_error is not None
        assert found.standard_error * sqrt(24) == pytest.approx(0.807, abs=5e-4)

    def test_agrees_with_a_reference_library_on_flipped_data(self) -> None:
        from statsmodels.duration.survfunc import SurvfuncRight

        for values, below in (D1, D3, D6):
            flipped = SurvfuncRight(200.0 - values, (~below).astype(int))
            steps = kaplan_meier(values, below, Leftover.SMALLEST_DETECT)
            # Survival of 200 − x just past a detect is the probability of lying below that detect.
            under = (steps.cdf - np.append(steps.mass[0] - steps.left, steps.mass[1:]))[::-1]
            assert under == pytest.approx(np.asarray(flipped.surv_prob), abs=1e-12)

    def test_without_results_below_detection_it_is_the_plain_summary(self) -> None:
        values = np.array([3.0, 1.0, 4.0, 1.0, 5.0])
        found = summary((values, np.zeros(5, bool)), Method.KAPLAN_MEIER)
        assert (found.mean, found.sd) == pytest.approx((values.mean(), values.std()))
        assert (found.median, found.p95) == (3.0, 5.0)
        assert found.standard_error == pytest.approx(values.std(ddof=1) / sqrt(5))

    def test_no_quantile_where_the_data_do_not_place_it(self) -> None:
        found = summary(read("<1×6 2 3 4 5"), Method.KAPLAN_MEIER)
        assert found.median is None
        assert found.p95 == 5.0

    @settings(deadline=None)
    @given(st.lists(st.tuples(st.integers(1, 20), st.booleans()), min_size=4, max_size=30), st.sampled_from(Leftover))
    def test_masses_are_a_distribution(self, rows: list[tuple[int, bool]], leftover: Leftover) -> None:
        values, below = np.array([float(v) for v, _ in rows]), np.array([b for _, b in rows])
        assume(refused(values, below, Method.KAPLAN_MEIER) is None)
        steps = kaplan_meier(values, below, leftover)
        assert steps.mass.sum() == pytest.approx(1)
        assert np.all(steps.mass >= -1e-12)
        assert steps.cdf == pytest.approx(np.cumsum(steps.mass))


class TestRegressionOnOrderStatistics:
    def test_c03_manganese(self) -> None:
        """EPA Unified Guidance Ex. 15-2."""
        found = summary(D1, Method.ROS)
        assert (found.mean_log, found.sd_log) == pytest.approx((2.277175, 1.261431), abs=1e-6)
        assert found.mean == pytest.approx(19.827673, abs=1e-6)
        assert found.sd / found.mean == pytest.approx(1.304725, abs=1e-6)

    def test_c04_plotting_positions(self) -> None:
        expected = (
            "0.245 0.318 0.356 0.394 0.432 0.469 0.507 0.545 0.583 0.621 0.659 0.697 0.735 0.773 0.811 0.848 0.886 "
            "0.924 0.962"
        )
        found = np.sort(plotting_positions(*D1)[~D1[1]])
        assert found == pytest.approx([float(p) for p in expected.split()], abs=5e-4)

    def test_c11_c12_arsenic(self) -> None:
        found = summary(D3, Method.ROS)
        assert (found.mean, found.sd) == pytest.approx((0.972, 0.718), abs=5e-4)

    def test_c18_c19_filled_values(self) -> None:
        """Helsel and Cohn 1988, App. B, which truncates its figures: hence 0.01."""
        expected = [0.47, 0.85, 1.11, 1.27, 1.76, 2.34, 2.50, 3.00, 3.03, 4.80, 7, 9, 12, 15, 20, 27, 33, 50]
        assert np.sort(ros_values(*D6)) == pytest.approx(expected, abs=0.01)
        limits, exceeded = exceedance(*D6)
        assert list(limits[1:]) == [1.0, 10.0]
        assert exceeded[1:] == pytest.approx([0.55556, 0.33333], abs=1e-5)

    def test_c20_fifty_values_of_a_reference_library(self) -> None:
        from statsmodels.imputation.tests.test_ros import Test_ROS_RNADAdata as Reference

        values, below = Reference.df["res"].to_numpy(), Reference.df["cen"].to_numpy()
        assert len(values) == 50
        assert np.sort(ros_values(values, below)) == pytest.approx(np.sort(Reference.expected_final), abs=1e-3)

    def test_filling_never_reaches_the_measured_values(self) -> None:
        filled = ros_values(*D1)
        assert np.array_equal(filled[~D1[1]], D1[0][~D1[1]])
        assert np.all(filled > 0)


class TestMaximumLikelihood:
    def test_c11_c12_c14_arsenic(self) -> None:
        found = summary(D3, Method.MLE)
        assert (found.mean, found.sd) == pytest.approx((0.945, 0.656), abs=5e-4)
        assert found.median == pytest.approx(0.777, abs=5e-4)
        assert found.mean_log is not None
        assert found.sd_log is not None
        quartiles = [exp(found.mean_log + z * found.sd_log) for z in (-0.6744898, 0.6744898)]
        assert quartiles == pytest.approx([0.509, 1.185], abs=5e-4)

    @pytest.mark.parametrize("data", [D1, D3, D6], ids=["D1", "D3", "D6"])
    def test_agrees_with_a_reference_library(self, data: Data) -> None:
        from scipy.stats import CensoredData, norm

        values, below = data
        logs = np.log(values)
        mu, sigma = norm.fit(CensoredData(uncensored=logs[~below], left=logs[below]))
        assert censored_normal(logs, below) == pytest.approx((mu, sigma), rel=1e-3)

    @pytest.mark.parametrize("data", [D1, D3, D6], ids=["D1", "D3", "D6"])
    def test_it_is_a_maximum(self, data: Data) -> None:
        values, below = data
        logs = np.log(values)

        def likelihood(mu: float, sigma: float) -> float:
            normal = NormalDist(mu, sigma)
            measured = sum(log(normal.pdf(y)) for y in logs[~below])
            return measured + sum(log(normal.cdf(y)) for y in logs[below])

        mu, sigma = censored_normal(logs, below)
        best = likelihood(mu, sigma)
        for step in (1e-4, -1e-4):
            assert likelihood(mu + step, sigma) < best
            assert likelihood(mu, sigma + step) < best

    def test_without_results_below_detection_it_is_the_plain_fit(self) -> None:
        logs = np.array([0.1, 0.5, -0.2, 1.0])
        assert censored_normal(logs, np.zeros(4, bool)) == pytest.approx((logs.mean(), logs.std()))

    def test_far_limits_do_not_break_it(self) -> None:
        logs = np.array([10.0, 10.01, 9.99, 0.0])
        mu, sigma = censored_normal(logs, np.array([False, False, False, True]))
        assert np.isfinite(mu)
        assert sigma > 0


class TestMethodsDisagreeAndSaySo:
    def test_none_is_half_the_limit(self) -> None:
        """C-11: 0.949, 0.972, 0.945; half the limit would say 1.002."""
        means = [round(summary(D3, method).mean, 3) for method in Method]
        assert means == [0.949, 0.972, 0.945]
        assert 1.002 not in means

    def test_each_names_its_convention(self) -> None:
        said = {summary(D3, method).convention for method in Method}
        assert len(said) == 3
        assert all(words for words in said)

    @settings(deadline=None, max_examples=30)
    @given(st.floats(0.1, 50))
    def test_a_change_of_unit_changes_nothing_else(self, factor: float) -> None:
        for method in Method:
            one, other = summary(D3, method), summary((D3[0] * factor, D3[1]), method)
            assert (other.mean, other.sd) == pytest.approx((one.mean * factor, one.sd * factor), rel=1e-9)


class TestRefusals:
    """The rules of § 6.2 of the check values: a refusal with its reason, not a number."""

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("<1×3 <2", "all_below"),
            ("<1×3 5", "one_detect"),
            ("<1×9 5 6", "mostly_below"),
            ("1 2 3 <5", "limit_above_detects"),
            ("<1 3 3 3", "no_spread"),
        ],
    )
    def test_refused(self, text: str, code: str) -> None:
        for method in Method:
            found = summarise(*read(text), method)
            assert isinstance(found, Refusal)
            assert found.code == code
            assert found.words.endswith(".")

    def test_all_below_says_what_to_report(self) -> None:
        found = summarise(*read("<1×3 <2"), Method.ROS)
        assert isinstance(found, Refusal)
        assert "< 2" in found.words

    def test_exactly_four_fifths_below_is_still_summarised(self) -> None:
        assert isinstance(summarise(*read("<1×8 5 6"), Method.KAPLAN_MEIER), Summary)

    def test_logarithms_need_values_above_zero(self) -> None:
        data = np.array([-0.1, 0.5, 0.2]), np.array([False, False, False])
        assert isinstance(summarise(*data, Method.KAPLAN_MEIER), Summary)
        for method in (Method.ROS, Method.MLE):
            found = summarise(*data, method)
            assert isinstance(found, Refusal)
            assert found.code == "not_positive"

    def test_nothing(self) -> None:
        found = summarise(np.zeros(0), np.zeros(0, bool), Method.MLE)
        assert isinstance(found, Refusal)
        assert found.code == "no_results"

    def test_impossible_input(self) -> None:
        for values in (np.array([1.0, log(2), np.nan]), np.array([1.0])):
            with pytest.raises(ValueError, match="equal length"):
                summarise(values, np.zeros(3, bool), Method.ROS)
