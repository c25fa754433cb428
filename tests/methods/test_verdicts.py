"""Verdicts and fitness, held against JCGM 106, the EURACHEM/CITAC guide and the rounding rules.

Method: docs/methods/verdicts.md.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import methods
from methods.averages import Window, half_up, truncate
from methods.limits.loader import load
from methods.limits.model import Averaging, Claim, Operator, Rounding
from methods.uncertainty.budget import SCATTER, SPAN, ZERO, Budget, Component
from methods.verdicts import (
    VERDICT_GLYPHS,
    VERDICT_WORDS,
    Edge,
    Estimate,
    Judgement,
    Levels,
    Verdict,
    edges,
    is_met,
    judge,
)
from methods.verdicts.comparability import Comparability, ComparabilityState, Data, Reason, comparable
from methods.verdicts.fitness import ChannelAbilities, fitness
from tests.methods.limit_samples import a_limit, a_lower_limit, a_range

FIXED = Comparability(ComparabilityState.YES, "accepted", "")


def certain(value: float, u: float = 0.0, **changes: Any) -> Estimate:
    """A result whose whole uncertainty is systematic and known."""
    return Estimate(value=value, budget=Budget((Component(ZERO, u), Component(SPAN, 0.0))), **changes)


def codes(judgement: Judgement) -> set[str]:
    return {reason.code for reason in judgement.reasons}


class TestProbability:
    def test_m08_conformance_probability(self) -> None:
        """JCGM 106:2012 §7, M-08 (from memory): −5.47 V, u 0.05 V, limit ≤ −5.40 V: conforms with 0.92."""
        edge = Edge(-5.40, is_upper=True, inclusive=True)
        assert 1 - edge.p_above(-5.47, 0.05) == pytest.approx(0.92, abs=0.005)

    def test_m09_guard_band_multipliers(self) -> None:
        """EURACHEM/CITAC compliance guide, M-09: 1.64 u at 5 %, 2.33 u at 1 %."""
        assert (Levels().z_above, Levels().z_below) == pytest.approx((1.64485, 1.64485), abs=1e-5)
        assert Levels(0.99, 0.01).z_above == pytest.approx(2.32635, abs=1e-5)

    def test_m10_acceptance_limits(self) -> None:
        """M-10: limit 0.080, u 0.004: stringent 0.07342, relaxed 0.08658; P(true < limit) at 0.075 is 0.89435."""
        known = ChannelAbilities(
            resolution=0.0, zero_u=0.004, span_u_rel=0.0, drift_u=0.0, temperature_u=0.0, interference_u=0.0, noise=0.0
        )
        fit = fitness(known, a_limit("0.080"))
        assert (fit.largest_below, fit.smallest_above) == pytest.approx((0.07342, 0.08658), abs=1e-5)
        found = judge(certain(0.075, 0.004), a_limit("0.080"))
        assert found.p_above == pytest.approx(1 - 0.89435, abs=1e-5)
        assert found.verdict is Verdict.UNDECIDED

    @pytest.mark.parametrize(
        ("value", "verdict"),
        [
            (0.0734, Verdict.BELOW),
            (0.0735, Verdict.UNDECIDED),
            (0.0865, Verdict.UNDECIDED),
            (0.0866, Verdict.ABOVE),
        ],
    )
    def test_m10_verdicts_change_there(self, value: float, verdict: Verdict) -> None:
        assert judge(certain(value, 0.004), a_limit("0.080")).verdict is verdict

    def test_levels_are_a_setting_and_are_printed(self) -> None:
        strict = judge(certain(0.073, 0.004), a_limit("0.080"), Levels(0.99, 0.01))
        assert strict.verdict is Verdict.UNDECIDED
        assert "99 %" in strict.levels.words
        assert judge(certain(0.073, 0.004), a_limit("0.080")).verdict is Verdict.BELOW

    @pytest.mark.parametrize(("above", "below"), [(0.4, 0.05), (0.95, 0.6), (1.0, 0.05), (0.95, 0.0)])
    def test_impossible_levels_are_refused(self, above: float, below: float) -> None:
        with pytest.raises(ValueError, match="levels"):
            Levels(above, below)

    @settings(deadline=None)
    @given(st.floats(0, 0.3), st.floats(1e-4, 0.1))
    def test_p_is_monotonic_in_the_result(self, value: float, u: float) -> None:
        edge = Edge(0.1, is_upper=True, inclusive=True)
        assert edge.p_above(value, u) <= edge.p_above(value + 0.01, u)

    def test_the_span_counts_at_the_limit_for_a_result_under_it(self) -> None:
        """If the truth were at the limit, the span's error would be that of the limit, not of the smaller result."""
        part = Budget((Component(ZERO, 0.0), Component(SPAN, 0.1 * 0.085, relative=0.1)))
        assert judge(Estimate(value=0.085, budget=part), a_limit("0.1")).p_above == pytest.approx(0.066807, abs=1e-5)


class TestOperatorsAndRounding:
    def test_without_uncertainty_the_operator_decides_at_the_limit(self) -> None:
        at_most, below = a_limit("9"), a_limit("9", operator=Operator.BELOW)
        assert judge(certain(9.0), at_most).verdict is Verdict.BELOW
        assert judge(certain(9.0), below).verdict is Verdict.ABOVE
        assert judge(certain(8.99), below).verdict is Verdict.BELOW

    @pytest.mark.parametrize("value", [8.4, 8.5, 9.0, 9.4, 9.49, 9.5, 9.6, 10.0])
    @pytest.mark.parametrize("operator", [Operator.AT_MOST, Operator.BELOW])
    def test_r03_the_edge_of_a_rounding_limit(self, value: float, operator: Operator) -> None:
        """40 CFR 50.8(d): round half up, then compare; the moved edge must agree with doing just that."""
        limit = a_limit("9", unit="ppm", rounding=Rounding.HALF_UP, rounding_digits=0, operator=operator)
        rounded = half_up(value)
        meets = rounded < 9 if operator is Operator.BELOW else rounded <= 9
        assert judge(certain(value), limit).is_met is meets
        assert is_met(limit, value) is meets

    @pytest.mark.parametrize("value", [0.0699, 0.070, 0.0705, 0.0709, 0.0710, 0.0711])
    def test_r05_the_edge_of_a_truncating_limit(self, value: float) -> None:
        limit = a_limit("0.070", unit="ppm", rounding=Rounding.TRUNCATE, rounding_digits=3)
        assert judge(certain(value), limit).is_met is (truncate(value, 3) <= 0.070)

    def test_a_value_off_the_grid_of_its_rounding(self) -> None:
        limit = a_limit("9.7", rounding=Rounding.HALF_UP, rounding_digits=0)
        assert edges(limit)[0].value == 9.5
        lower = a_lower_limit("9.7", rounding=Rounding.HALF_UP, rounding_digits=0)
        assert edges(lower)[0] == Edge(9.5, is_upper=False, inclusive=True)
        cut = a_lower_limit("9", rounding=Rounding.TRUNCATE, rounding_digits=0)
        assert edges(cut)[0].value == 9.0

    def test_a_limit_without_a_value(self) -> None:
        with pytest.raises(ValueError, match="no value"):
            edges(a_limit(None))


class TestBelowDetection:
    """docs/methods/nondetects.md, docs/methods/verdicts.md: "< LOD" is below only if LOD + 1.645·u(LOD) meets the
    limit."""

    @pytest.mark.parametrize(("lod", "verdict"), [(0.0734, Verdict.BELOW), (0.0736, Verdict.UNDECIDED)])
    def test_all_below_detection(self, lod: float, verdict: Verdict) -> None:
        found = judge(certain(lod, 0.004, lower=0.0, upper=lod), a_limit("0.080"))
        assert found.verdict is verdict
        assert "below_detection" in codes(found)

    def test_a_detection_limit_over_the_limit_is_never_above(self) -> None:
        found = judge(certain(0.2, 0.004, lower=0.0, upper=0.2), a_limit("0.080"))
        assert found.verdict is Verdict.UNDECIDED
        assert found.p_bounds == pytest.approx((0.0, 1.0), abs=1e-6)
        assert found.would_decide is not None
        assert found.would_decide.code == "laboratory_sample"

    def test_a_mean_whose_bounds_agree_stands(self) -> None:
        assert judge(certain(0.05, 0.004, lower=0.03, upper=0.05), a_limit("0.080")).verdict is Verdict.BELOW
        assert judge(certain(0.15, 0.004, lower=0.12, upper=0.15), a_limit("0.080")).verdict is Verdict.ABOVE

    def test_a_mean_whose_bounds_differ_is_undecided(self) -> None:
        found = judge(certain(0.12, 0.004, lower=0.04, upper=0.12), a_limit("0.080"))
        assert found.verdict is Verdict.UNDECIDED

    def test_from_a_window(self) -> None:
        window = Window(0, 1_800_000, 0.05, 0.03, 0.05, 0.9, 27, 0, 29, False)
        found = Estimate.of(window, Budget(()))
        assert (found.value, found.bounds, found.minutes) == (0.05, (0.03, 0.05), 27.0)


class TestOverRange:
    def test_can_only_be_above_or_undecided(self) -> None:
        over = judge(certain(0.05, 0.004, is_lower_bound=True), a_limit("0.080"))
        assert over.verdict is Verdict.UNDECIDED
        assert over.would_decide is not None
        assert over.would_decide.code == "higher_range"
        assert judge(certain(0.09, 0.004, is_lower_bound=True), a_limit("0.080")).verdict is Verdict.ABOVE

    @settings(deadline=None)
    @given(st.floats(0, 1), st.floats(0, 0.1), st.floats(0, 1))
    def test_never_below(self, value: float, u: float, lower: float) -> None:
        estimate = certain(value, u, lower=min(lower, value), upper=value, is_lower_bound=True)
        assert judge(estimate, a_limit("0.080")).verdict is not Verdict.BELOW


class TestLowerLimitsAndRanges:
    @pytest.mark.parametrize(
        ("value", "verdict", "is_met", "words"),
        [
            (21.0, Verdict.ABOVE, True, "above the lower limit"),
            (15.0, Verdict.BELOW, False, "below the lower limit"),
            (18.2, Verdict.UNDECIDED, None, "undecided"),
        ],
    )
    def test_not_to_be_undercut(self, value: float, verdict: Verdict, is_met: bool | None, words: str) -> None:
        found = judge(certain(value, 0.3), a_lower_limit("18"))
        assert (found.verdict, found.is_met, found.words) == (verdict, is_met, words)

    @pytest.mark.parametrize(
        ("value", "verdict", "is_met", "words"),
        [
            (22.0, Verdict.BELOW, True, "within the range"),
            (30.0, Verdict.ABOVE, False, "above the range"),
            (16.0, Verdict.BELOW, False, "below the range"),
            (28.2, Verdict.UNDECIDED, None, "undecided"),
            (17.8, Verdict.UNDECIDED, None, "undecided"),
        ],
    )
    def test_a_range(self, value: float, verdict: Verdict, is_met: bool | None, words: str) -> None:
        found = judge(certain(value, 0.3), a_range("18", "28"))
        assert (found.verdict, found.is_met, found.words) == (verdict, is_met, words)

    def test_a_range_narrower_than_the_uncertainty_cannot_be_met(self) -> None:
        found = judge(certain(20.5, 1.0), a_range("20", "21"))
        assert (found.verdict, found.is_met) == (Verdict.UNDECIDED, None)

    def test_over_range_above_a_lower_limit_is_met(self) -> None:
        assert judge(certain(50.0, 0.3, is_lower_bound=True), a_lower_limit("18")).is_met is True
        assert judge(certain(15.0, 0.3, is_lower_bound=True), a_lower_limit("18")).is_met is None


class TestNotComparable:
    def test_the_reason_is_carried_and_no_probability_is_given(self) -> None:
        refusal = Comparability(
            ComparabilityState.NO, "annual", "A mean over a year cannot be judged from hours or days."
        )
        found = judge(certain(0.05, 0.001), a_limit("0.080"), comparability=refusal)
        assert (found.verdict, found.p_above, found.is_met) == (Verdict.NOT_COMPARABLE, None, None)
        assert found.reasons == (Reason("annual", refusal.words),)
        assert found.glyph == "○"

    def test_an_indication_says_so(self) -> None:
        found = judge(
            certain(0.05, 0.001),
            a_limit("0.080"),
            comparability=Comparability(ComparabilityState.INDICATIVE, "few_readings", "…"),
        )
        assert found.is_indicative
        assert "few_readings" in codes(found)

    def test_a_ceiling_is_never_below(self) -> None:
        ceiling = Comparability(ComparabilityState.INDICATIVE, "ceiling", "…", can_be_below=False)
        found = judge(certain(0.05, 0.001), a_limit("0.3"), comparability=ceiling)
        assert found.verdict is Verdict.UNDECIDED
        assert found.would_decide is not None
        assert found.would_decide.code == "nothing"
        assert judge(certain(0.5, 0.001), a_limit("0.3"), comparability=ceiling).verdict is Verdict.ABOVE


class TestMissingParts:
    def test_a_verdict_names_what_is_not_known_and_how_large_it_may_be(self) -> None:
        parts = Budget((Component(ZERO, 0.003), Component(SPAN, 0.0), Component("drift", None)))
        found = judge(Estimate(value=0.05, budget=parts), a_limit("0.080"))
        assert found.verdict is Verdict.BELOW
        words = next(reason.words for reason in found.reasons if reason.code == "missing_parts")
        assert "drift" in words
        # (0.080 − 0.050)/1.645 = 0.01824; √(0.01824² − 0.003²) = 0.01799
        assert "u = 0.018 mg/m³" in words

    def test_a_verdict_falls_where_the_missing_part_reaches_that_size(self) -> None:
        for drift, verdict in ((0.0179, Verdict.BELOW), (0.0181, Verdict.UNDECIDED)):
            parts = Budget((Component(ZERO, 0.003), Component(SPAN, 0.0), Component("drift", drift)))
            assert judge(Estimate(value=0.05, budget=parts), a_limit("0.080")).verdict is verdict

    def test_without_zero_and_span_nothing_is_decided(self) -> None:
        parts = Budget((Component(ZERO, None), Component(SPAN, None), Component(SCATTER, 1e-6, shrinks=True)))
        found = judge(Estimate(value=0.5, budget=parts), a_limit("0.080"))
        assert found.verdict is Verdict.UNDECIDED
        assert "trueness_unknown" in codes(found)
        assert found.would_decide is not None
        assert found.would_decide.code == "zero_span_check"


class TestWhatWouldDecide:
    @staticmethod
    def undecided(value: float, *, zero: float, scatter: float, other: float = 0.0, **changes: Any) -> Judgement:
        parts = Budget(
            (
                Component(ZERO, zero),
                Component(SPAN, 0.0),
                Component("interference", other),
                Component(SCATTER, scatter, shrinks=True),
            )
        )
        limit = a_limit("0.080", **changes)
        found = judge(Estimate(value=value, budget=parts, minutes=30.0), limit)
        assert found.verdict is Verdict.UNDECIDED
        assert found.would_decide is not None
        return found

    def test_more_readings_where_they_would(self) -> None:
        found = self.undecided(0.072, zero=0.002, scatter=0.006)
        decide = found.would_decide
        assert decide is not None
        assert decide.code == "more_readings"
        assert decide.minutes is not None
        # 0.008/1.6449 = 0.004864; needed random² = 0.004864² − 0.002²; 30·(0.006²/that) − 30 = 24.9
        assert decide.minutes == 25
        assert "25 min" in decide.words

    def test_the_minutes_named_are_enough_and_few_fewer_are_not(self) -> None:
        decide = self.undecided(0.072, zero=0.002, scatter=0.006).would_decide
        assert decide is not None
        assert decide.minutes is not None
        for minutes, verdict in ((30 + decide.minutes, Verdict.BELOW), (28 + decide.minutes, Verdict.UNDECIDED)):
            scatter = 0.006 * (30 / minutes) ** 0.5
            parts = Budget((Component(ZERO, 0.002), Component(SPAN, 0.0), Component(SCATTER, scatter, shrinks=True)))
            assert judge(Estimate(value=0.072, budget=parts), a_limit("0.080")).verdict is verdict

    def test_a_better_check_where_zero_or_span_stand_in_the_way(self) -> None:
        decide = self.undecided(0.072, zero=0.006, scatter=0.002).would_decide
        assert decide is not None
        assert decide.code == "zero_span_check"
        assert "zero" in decide.words

    def test_a_laboratory_sample_where_nothing_else_helps(self) -> None:
        decide = self.undecided(0.072, zero=0.002, scatter=0.002, other=0.007).would_decide
        assert decide is not None
        assert decide.code == "laboratory_sample"
        assert "ISO 16000-3" in decide.words
        assert "0.0049 mg/m³" in decide.words

    def test_a_reference_instrument_where_no_laboratory_samples(self) -> None:
        decide = self.undecided(0.072, zero=0.002, scatter=0.002, other=0.007, parameter="humidity").would_decide
        assert decide is not None
        assert decide.words.startswith("A reference instrument")

    def test_days_of_further_readings_are_not_proposed(self) -> None:
        decide = self.undecided(0.0797, zero=0.0, scatter=0.006).would_decide
        assert decide is not None
        assert decide.code != "more_readings"

    def test_a_result_exactly_at_the_limit(self) -> None:
        decide = self.undecided(0.080, zero=0.001, scatter=0.001).would_decide
        assert decide is not None
        assert decide.code == "laboratory_sample"

    def test_a_verdict_needs_nothing_more(self) -> None:
        assert judge(certain(0.01, 0.001), a_limit("0.080")).would_decide is None


class TestWords:
    def test_four_verdicts_each_with_its_own_word_and_glyph(self) -> None:
        assert list(VERDICT_WORDS) == list(VERDICT_GLYPHS) == list(Verdict)
        assert VERDICT_WORDS == {
            "below": "below limit",
            "above": "above limit",
            "undecided": "undecided",
            "not_comparable": "not comparable",
        }
        assert "".join(VERDICT_GLYPHS.values()) == "▽△◇○"

    def test_one_word_appears_nowhere_in_the_judging_modules(self) -> None:
        root = Path(methods.__file__).parent
        judging = ("averages", "verdicts", "exposure", "uncertainty", "nondetects")
        files = [file for folder in judging for file in (root / folder).glob("*.py")]
        assert len(files) > 15
        for file in files:
            assert "saf" + "e" not in file.read_text(encoding="utf-8").lower(), file

    def test_catalogue_limits_can_all_be_held_against_a_result(self) -> None:
        for limit in load().values():
            assert judge(certain(1.0, 0.1), limit).verdict in Verdict
            if limit.averaging is Averaging.CEILING and limit.short_campaign is not Claim.CONTEXT:
                facts = Data(interval_s=30, span_minutes=60, covered_minutes=60, n=120, t90_s=20)
                found = judge(certain(0.0, 0.0), limit, comparability=comparable(limit, facts))
                assert found.verdict is Verdict.UNDECIDED
