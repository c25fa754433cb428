"""Which limit accepts which data: T9 to T11 of the guidelines reference row by row, then the whole catalogue."""

from __future__ import annotations

from datetime import date
from typing import Any

import numpy as np
import pytest

from methods.averages import Series
from methods.limits.loader import load
from methods.limits.model import Averaging, Claim, Comparable, LimitDefinition, OutdoorRule, PopulationScope, Status
from methods.verdicts.comparability import ComparabilityState, Data, comparable, data_of
from tests.methods.limit_samples import a_limit

DAY = 24 * 60


def data(minutes: float, interval_s: float = 60, **changes: Any) -> Data:
    """A visit of ``minutes`` without gaps."""
    facts: dict[str, Any] = {
        "interval_s": interval_s,
        "span_minutes": minutes,
        "covered_minutes": minutes,
        "n": int(minutes * 60 / interval_s),
        "t90_s": 60.0,
    }
    return Data(**(facts | changes))


def rolling(minutes: int, **changes: Any) -> LimitDefinition:
    return a_limit(averaging_minutes=minutes, **changes)


class TestIntervalAgainstWindow:
    """docs/methods/comparability.md and the table of T9: rows by averaging time, columns for a 1-minute and a 9-minute
    log."""

    @pytest.mark.parametrize(
        ("window", "from_1_min", "from_9_min"),
        [
            (15, ComparabilityState.YES, ComparabilityState.NO),
            (30, ComparabilityState.YES, ComparabilityState.INDICATIVE),
            (60, ComparabilityState.YES, ComparabilityState.YES),
            (240, ComparabilityState.YES, ComparabilityState.YES),
            (480, ComparabilityState.YES, ComparabilityState.YES),
        ],
    )
    def test_rows_of_t9(self, window: int, from_1_min: ComparabilityState, from_9_min: ComparabilityState) -> None:
        assert comparable(rolling(window), data(window)).state is from_1_min
        assert comparable(rolling(window), data(window, 540)).state is from_9_min

    @pytest.mark.parametrize(
        ("interval_s", "state"),
        [
            (360, ComparabilityState.YES),
            (361, ComparabilityState.INDICATIVE),
            (600, ComparabilityState.INDICATIVE),
            (601, ComparabilityState.NO),
        ],
    )
    def test_edges_at_a_fifth_and_a_third_of_the_window(self, interval_s: float, state: ComparabilityState) -> None:
        assert comparable(rolling(30), data(30, interval_s, n=3)).state is state

    def test_nine_minutes_against_fifteen_names_the_interval(self) -> None:
        """The first trap: a 15-minute limit from 9-minute logging."""
        found = comparable(rolling(15), data(60, 540, covered_minutes=15, n=2))
        assert (found.state, found.code) == (ComparabilityState.NO, "coarse_interval")
        assert found.words.startswith("9 min logging for a mean over 15 min")
        assert not found.is_comparable

    @pytest.mark.parametrize(
        ("t90_s", "state", "code"),
        [
            (120, ComparabilityState.YES, "accepted"),
            (121, ComparabilityState.NO, "slow_sensor"),
            (None, ComparabilityState.INDICATIVE, "response_unstated"),
        ],
    )
    def test_fifteen_minutes_need_a_quick_sensor(
        self, t90_s: float | None, state: ComparabilityState, code: str
    ) -> None:
        found = comparable(rolling(15), data(15, t90_s=t90_s))
        assert (found.state, found.code) == (state, code)
        assert comparable(rolling(30), data(30, t90_s=t90_s)).state is ComparabilityState.YES


class TestLengthAndCoverage:
    def test_the_window_must_fit_into_the_visit(self) -> None:
        found = comparable(rolling(30), data(29))
        assert (found.state, found.code) == (ComparabilityState.NO, "short_visit")
        assert found.words == "The visit of 29 min is shorter than the 30 min averaged over."

    @pytest.mark.parametrize(("covered", "state"), [(45, ComparabilityState.YES), (44, ComparabilityState.NO)])
    def test_three_quarters_must_be_covered(self, covered: float, state: ComparabilityState) -> None:
        """R-01, R-09."""
        assert comparable(rolling(60), data(60, covered_minutes=covered, n=covered)).state is state

    def test_three_readings_at_least(self) -> None:
        found = comparable(rolling(30), data(30, 540, n=2))
        assert (found.state, found.code) == (ComparabilityState.NO, "too_few")

    @pytest.mark.parametrize(
        ("span", "covered", "state"),
        [
            (DAY, DAY, ComparabilityState.YES),
            (DAY, 18 * 60, ComparabilityState.YES),
            (20 * 60, 20 * 60, ComparabilityState.INDICATIVE),
            (DAY, 17.9 * 60, ComparabilityState.NO),
            (60, 60, ComparabilityState.NO),
        ],
    )
    def test_a_day_needs_eighteen_hours(self, span: float, covered: float, state: ComparabilityState) -> None:
        found = comparable(rolling(DAY, reason_code="day"), data(span, covered_minutes=covered))
        assert found.state is state

    def test_no_reading_at_all(self) -> None:
        limit = a_limit(averaging=Averaging.SPOT, averaging_minutes=None, reason_code="spot")
        assert comparable(limit, data(5)).state is ComparabilityState.YES
        assert comparable(limit, data(5, n=0)).code == "no_readings"

    def test_facts_of_a_series(self) -> None:
        n = 90
        series = Series(
            np.arange(n, dtype=np.int64) * 60_000 + 30_000,
            np.ones(n),
            np.where(np.arange(n) < 60, 0, 1024).astype(np.int16),
            60_000,
            0,
            n * 60_000,
        )
        found = data_of(series, rolling(30), t90_s=90.0)
        assert found == Data(interval_s=60, span_minutes=90, covered_minutes=30, n=30, t90_s=90.0)
        whole = data_of(series, a_limit(averaging=Averaging.SPOT, averaging_minutes=None))
        assert (whole.covered_minutes, whole.n) == (60, 60)


class TestLongTerm:
    def test_an_annual_limit_against_a_day(self) -> None:
        """The second trap. Never from hours or days, whatever the limit claims (T9)."""
        for claim in Claim:
            limit = a_limit(
                averaging=Averaging.LONG_TERM_MEAN,
                averaging_minutes=None,
                short_campaign=claim,
                laboratory=claim,
                reason_code="annual",
            )
            for visit in (data(DAY), data(7 * DAY), data(DAY, laboratory=True)):
                found = comparable(limit, visit)
                assert (found.state, found.code) == (ComparabilityState.NO, "annual")

    def test_a_year_of_readings_is_an_indication(self) -> None:
        limit = a_limit(averaging=Averaging.LONG_TERM_MEAN, averaging_minutes=None, reason_code="annual")
        assert comparable(limit, data(365 * DAY)).state is ComparabilityState.INDICATIVE
        assert comparable(limit, data(365 * DAY, covered_minutes=250 * DAY)).state is ComparabilityState.NO

    def test_a_year_before_a_limit_holds_is_not_judged_by_it(self) -> None:
        limit = load()["PM25-EU-2030-A"]
        early, late = (
            comparable(limit, data(365 * DAY, outdoors=True, on=date(year, 12, 31))) for year in (2029, 2030)
        )
        assert (early.state, early.code) == (ComparabilityState.NO, "not_in_force")
        assert (late.state, late.code) == (ComparabilityState.INDICATIVE, "whole_year")

    def test_radon_from_three_months(self) -> None:
        limit = a_limit(
            "300",
            parameter="radon",
            unit="Bq/m³",
            averaging=Averaging.LONG_TERM_MEAN,
            averaging_minutes=None,
            short_campaign=Claim.CONTEXT,
            reason_code="radon",
        )
        assert comparable(limit, data(91 * DAY, 3600)).state is ComparabilityState.INDICATIVE
        assert comparable(limit, data(4 * DAY, 3600)).code == "radon"

    def test_percentiles_never(self) -> None:
        limit = a_limit(
            averaging=Averaging.PERCENTILE, averaging_minutes=DAY, short_campaign=Claim.INDICATIVE, reason_code="day"
        )
        assert comparable(limit, data(30 * DAY)).code == "percentile"

    def test_t10_a_long_term_guideline_with_an_eight_hour_sample(self) -> None:
        """Health Canada 2006, 50 µg/m³: compared with an 8-hour sample, and said to be no limit for a shift."""
        limit = load()["HCHO-HC-8H"]
        found = comparable(limit, data(480))
        assert found.state is ComparabilityState.YES
        assert "long_term_8h" in {note.code for note in found.notes}
        assert comparable(limit, data(60)).state is ComparabilityState.NO


class TestCeilingLimits:
    LIMIT = a_limit(
        averaging=Averaging.CEILING,
        averaging_minutes=None,
        short_campaign=Claim.INDICATIVE,
        reason_code="personal_ceiling",
    )

    def test_may_be_seen_exceeded_never_kept(self) -> None:
        found = comparable(self.LIMIT, data(60, t90_s=30))
        assert found.state is ComparabilityState.INDICATIVE
        assert not found.can_be_below

    def test_not_from_nine_minutes_nor_from_a_slow_sensor(self) -> None:
        assert comparable(self.LIMIT, data(60, 540)).code == "ceiling_interval"
        assert comparable(self.LIMIT, data(60, t90_s=180)).code == "slow_sensor"

    def test_an_unstated_response_time_is_said(self) -> None:
        found = comparable(self.LIMIT, data(60, t90_s=None))
        assert found.state is ComparabilityState.INDICATIVE
        assert "response_unstated" in {found.code, *(note.code for note in found.notes)}


class TestWhoseAir:
    WORK = a_limit(
        scopes=(PopulationScope.WORKPLACE,),
        averaging=Averaging.SHIFT_TWA,
        averaging_minutes=480,
        short_campaign=Claim.INDICATIVE,
        reason_code="personal",
    )

    def test_a_workplace_limit_from_an_area_sample_is_an_indication(self) -> None:
        found = comparable(self.WORK, data(480, place=PopulationScope.WORKPLACE))
        assert found.state is ComparabilityState.INDICATIVE
        assert found.code in {"area_sample", "personal"}

    def test_from_a_personal_sample_it_is_a_comparison(self) -> None:
        assert (
            comparable(self.WORK, data(480, place=PopulationScope.WORKPLACE, personal=True)).state
            is ComparabilityState.YES
        )

    def test_most_of_the_shift_must_be_sampled(self) -> None:
        assert comparable(self.WORK, data(359)).code == "short_shift"
        assert comparable(self.WORK, data(300, shift_minutes=360)).state is ComparabilityState.INDICATIVE

    def test_t11_neither_for_the_other(self) -> None:
        assert comparable(self.WORK, data(480, place=PopulationScope.DWELLING)).code == "other_population"
        assert comparable(a_limit(), data(30, place=PopulationScope.WORKPLACE)).code == "other_population"
        assert comparable(a_limit(), data(30, place=PopulationScope.PUBLIC)).state is ComparabilityState.YES
        words = comparable(self.WORK, data(480, place=PopulationScope.DWELLING)).words
        assert words == "The limit is about workers, which this place is not measured for."

    def test_a_dwelling_guideline_elsewhere_is_an_indication_and_a_scheme_is_for_whoever_chose_it(self) -> None:
        home = a_limit(scopes=(PopulationScope.DWELLING,))
        assert comparable(home, data(30, place=PopulationScope.DWELLING)).state is ComparabilityState.YES
        found = comparable(home, data(30, place=PopulationScope.PUBLIC))
        assert (found.state, found.code) == (ComparabilityState.INDICATIVE, "other_place")
        scheme = a_limit(scopes=(PopulationScope.CERTIFICATION,))
        assert all(
            comparable(scheme, data(30, place=place)).state is ComparabilityState.YES for place in PopulationScope
        )
        everybody = a_limit(scopes=(PopulationScope.DWELLING, PopulationScope.PUBLIC, PopulationScope.WORKPLACE))
        assert comparable(everybody, data(30, place=PopulationScope.DWELLING)).code != "other_population"

    def test_indoor_and_outdoor_limits(self) -> None:
        outdoor = a_limit(scopes=(PopulationScope.OUTDOOR,))
        assert comparable(outdoor, data(30)).code == "outdoor_limit"
        assert comparable(outdoor, data(30, outdoors=True)).state is ComparabilityState.YES
        assert comparable(a_limit(), data(30, outdoors=True)).code == "indoor_limit"

    @pytest.mark.parametrize("rule", [OutdoorRule.ABOVE_OUTDOOR, OutdoorRule.OUTDOOR_SUBTRACTED])
    def test_t7_a_difference_needs_its_outdoor_value(self, rule: OutdoorRule) -> None:
        limit = a_limit(outdoor_rule=rule)
        assert comparable(limit, data(30)).code == "outdoor_needed"
        assert comparable(limit, data(30, outdoor_missing="Nobody went out.")).words.endswith("Nobody went out.")
        assert comparable(limit, data(30, has_outdoor_value=True)).state is ComparabilityState.YES


class TestWhatTheLimitClaims:
    def test_context_and_indication_are_kept(self) -> None:
        for claim, state in ((Claim.CONTEXT, ComparabilityState.NO), (Claim.INDICATIVE, ComparabilityState.INDICATIVE)):
            limit = a_limit(short_campaign=claim, reason_code="sample")
            found = comparable(limit, data(30))
            assert (found.state, found.code) == (state, "sample")
            assert comparable(limit, data(30, laboratory=True)).state is ComparabilityState.YES

    def test_emission_limits_never(self) -> None:
        limit = a_limit(comparable=Comparable.NEVER, averaging=Averaging.CHAMBER, reason_code="chamber")
        assert comparable(limit, data(30)).code == "chamber"

    def test_design_values_are_an_indication(self) -> None:
        limit = a_limit(averaging=Averaging.DESIGN, averaging_minutes=None, reason_code="design")
        assert comparable(limit, data(30)).state is ComparabilityState.INDICATIVE

    def test_the_weakest_link_governs_and_the_rest_is_said(self) -> None:
        limit = a_limit(scopes=(PopulationScope.WORKPLACE,), short_campaign=Claim.INDICATIVE, reason_code="personal_15")
        found = comparable(limit, data(20))
        assert (found.state, found.code) == (ComparabilityState.NO, "short_visit")
        assert {"area_sample", "personal_15"} <= {note.code for note in found.notes}


CATALOGUE = sorted(load().values(), key=lambda limit: limit.code)


@pytest.mark.parametrize("limit", CATALOGUE, ids=lambda limit: limit.code)
def test_the_whole_catalogue_against_t9(limit: LimitDefinition) -> None:
    """T9's "never" rows hold for every limit that ships, from a full day logged every minute and from one visit."""
    outdoors = set(limit.scopes) == {PopulationScope.OUTDOOR}
    day = comparable(limit, data(DAY, outdoors=outdoors, has_outdoor_value=True))
    visit = comparable(limit, data(60, 540, outdoors=outdoors, has_outdoor_value=True))
    minutes = limit.averaging_minutes or 0
    never = {Averaging.LONG_TERM_MEAN, Averaging.PERCENTILE, Averaging.CHAMBER}
    if limit.averaging in never or limit.comparable is Comparable.NEVER or minutes > DAY:
        assert day.state is ComparabilityState.NO
    if limit.workplace or limit.averaging in (Averaging.CEILING, Averaging.DESIGN):
        assert day.state <= ComparabilityState.INDICATIVE
    if 0 < minutes <= 15 or minutes > 60 or limit.averaging is Averaging.CEILING:
        assert visit.state is ComparabilityState.NO
    if limit.status in (Status.DRAFT, Status.PROPOSAL):
        assert day.state is ComparabilityState.NO
    assert day.words
    assert day.words.endswith(".")


class TestWhatIsKnownOfTheMeter:
    """docs/methods/correction.md: what rests on a failed check, or on data of the type alone, is an indication."""

    @pytest.mark.parametrize(
        ("facts", "state", "code"),
        [
            ({}, ComparabilityState.YES, ""),
            ({"failed_checks": "The zero check of then failed."}, ComparabilityState.INDICATIVE, "check_failed"),
            ({"accepted_checks": "It failed; accepted."}, ComparabilityState.YES, "check_accepted"),
            ({"dead_checks": "It did not answer."}, ComparabilityState.NO, "meter_dead"),
            ({"zero_off": "Its zero is off."}, ComparabilityState.INDICATIVE, "zero_run_off"),
            ({"type_data_only": True}, ComparabilityState.INDICATIVE, "type_data_only"),
            (
                {"failed_checks": "One failed.", "accepted_checks": "Another was accepted."},
                ComparabilityState.INDICATIVE,
                "check_failed",
            ),
        ],
    )
    def test_it_is_said_and_counts(self, facts: dict[str, Any], state: ComparabilityState, code: str) -> None:
        told = comparable(rolling(30), data(60, **facts))
        assert told.state is state
        assert not code or code in {told.code, *(note.code for note in told.notes)}
        assert all(str(words) in f"{told.words} {told.notes}" for words in facts.values() if words is not True)
