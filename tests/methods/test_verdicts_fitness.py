"""What an instrument can decide before the visit, and the three traps a spreadsheet falls into.

Method: docs/methods/verdicts.md.
"""

from __future__ import annotations

from typing import Any

import pytest

from methods.limits.loader import load
from methods.uncertainty.budget import NOISE, SPAN, ZERO, Budget, Component, budget
from methods.verdicts import ChannelAbilities, Estimate, Judgement, Verdict, fitness, judge
from methods.verdicts.comparability import Data, comparable
from tests.methods.limit_samples import a_limit, a_lower_limit, a_range
from tests.methods.random_parts import noisy


class TestFitness:
    KNOWN = ChannelAbilities(resolution=0.001, detection_limit=0.005, zero_u=0.003, span_u_rel=0.05, range_high=5.0)

    @pytest.mark.parametrize("span", [0.0, 0.05, 0.3, 0.6])
    def test_its_figures_are_those_at_which_verdicts_change(self, span: float) -> None:
        channel = ChannelAbilities(resolution=0.001, zero_u=0.003, span_u_rel=span, noise=0.004, readings=25, rho=0.4)
        limit = a_limit("0.080")
        found = fitness(channel, limit)
        for largest in () if found.largest_below is None else (found.largest_below,):
            assert (
                judge(Estimate(value=largest - 1e-9, budget=channel.budget_at(largest)), limit).verdict is Verdict.BELOW
            )
            assert (
                judge(Estimate(value=largest + 1e-6, budget=channel.budget_at(largest)), limit).verdict
                is Verdict.UNDECIDED
            )
        smallest = found.smallest_above
        assert smallest is not None
        assert (
            judge(Estimate(value=smallest + 1e-9, budget=channel.budget_at(smallest)), limit).verdict is Verdict.ABOVE
        )
        assert (
            judge(Estimate(value=smallest - 1e-6, budget=channel.budget_at(smallest - 1e-6)), limit).verdict
            is Verdict.UNDECIDED
        )

    def test_the_third_trap_an_instrument_coarser_than_its_limit(self) -> None:
        """An instrument that resolves 0.01 ppm cannot decide a limit of 0.008 ppm, and says so before the visit."""
        meter = ChannelAbilities(resolution=0.01, detection_limit=0.01, zero_u=0.002, span_u_rel=0.05, range_high=5.0)
        found = fitness(meter, a_limit("0.008", unit="ppm"))
        assert not found.can_show_compliance
        assert found.can_show_exceedance
        assert found.largest_below is not None
        assert found.largest_below < 0.01
        assert "cannot show compliance" in found.words
        assert "detection limit is 0.01 ppm" in found.words

    def test_the_smallest_step_stands_in_for_an_unknown_detection_limit(self) -> None:
        meter = ChannelAbilities(resolution=0.01, zero_u=0.002, span_u_rel=0.05)
        found = fitness(meter, a_limit("0.008", unit="ppm"))
        assert not found.can_show_compliance
        assert "smallest step is 0.01 ppm" in found.words

    def test_an_uncertainty_as_large_as_the_limit(self) -> None:
        found = fitness(ChannelAbilities(zero_u=0.1, span_u_rel=0.0, resolution=0.001), a_limit("0.080"))
        assert found.largest_below is None
        assert not found.can_show_compliance
        assert "as large as the limit" in found.words

    def test_a_fit_instrument(self) -> None:
        found = fitness(self.KNOWN, a_limit("0.1"))
        assert found.can_show_compliance
        assert found.can_show_exceedance
        assert found.words.startswith("Results up to 0.0904 mg/m³ could be called below this limit.")
        assert set(found.missing) == {"drift", "temperature", "interference", NOISE}

    def test_a_range_that_ends_too_early(self) -> None:
        short = fitness(ChannelAbilities(zero_u=0.003, span_u_rel=0.05, range_high=0.1), a_limit("0.1"))
        assert not short.can_show_exceedance
        assert "within its range" in short.words

    def test_an_instrument_nobody_checked_decides_nothing(self) -> None:
        found = fitness(ChannelAbilities(resolution=0.001, noise=0.001, readings=30), a_limit("0.1"))
        assert not found.can_show_compliance
        assert not found.can_show_exceedance
        assert "Neither zero nor span" in found.words

    def test_a_lower_limit_and_a_range(self) -> None:
        thermometer = ChannelAbilities(resolution=0.1, zero_u=0.3, span_u_rel=0.0)
        assert fitness(thermometer, a_lower_limit("18")).can_show_compliance
        assert fitness(thermometer, a_range("18", "28")).can_show_compliance


class TestTheThreeTraps:
    """What a spreadsheet gets wrong, from catalogue limit to verdict."""

    @staticmethod
    def verdict(code: str, value: float, **facts: Any) -> Judgement:
        limit = load()[code]
        accepted = comparable(limit, Data(**facts))
        parts = Budget((Component(ZERO, 0.001), Component(SPAN, 0.0)))
        return judge(Estimate(value=value, budget=parts), limit, comparability=accepted)

    def test_an_annual_limit_against_a_day(self) -> None:
        found = self.verdict("HCHO-ATSDR-C", 0.005, interval_s=60, span_minutes=1440, covered_minutes=1440, n=1440)
        assert found.verdict is Verdict.NOT_COMPARABLE

    def test_fifteen_minutes_from_nine_minute_logging(self) -> None:
        found = self.verdict("HCHO-NIOSH-C", 0.2, interval_s=540, span_minutes=90, covered_minutes=15, n=2)
        assert found.verdict is Verdict.NOT_COMPARABLE
        assert found.reasons[0].code == "coarse_interval"

    def test_a_coarse_meter_against_a_fine_limit(self) -> None:
        limit = a_limit("0.008", unit="ppm")
        meter = {"resolution": 0.01, "zero_u": 0.002, "span_u_rel": 0.05, "drift_u": 0.0, "temperature_u": 0.0}
        for value in (0.0, 0.005, 0.01):
            parts = budget(value, noisy(0.0, 30), interference_u=0.0, **meter)  # type: ignore[arg-type]
            found = judge(Estimate(value=0.01, budget=parts, lower=0.0, upper=0.01, minutes=30.0), limit)
            assert found.verdict is Verdict.UNDECIDED
