"""Evidence that contradicts a result, or is missing, has to show. Each of these fails for now."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import numpy as np
import pytest

from campaigns import models as m
from campaigns.services import acceptance_limits, alert_levels, field_checks
from campaigns.services.records import save_changed
from methods.averages import Series
from methods.averages.occupancy import OccupiedDay
from methods.uncertainty.budget import NOISE, REFERENCE, SCATTER, Budget, Component
from methods.uncertainty.stable_air import in_zero_air
from methods.verdicts import Estimate, Verdict
from methods.verdicts.comparability import ComparabilityState
from reports.models import Result
from reports.services.circumstances import OutdoorValue
from reports.services.day_visits import mean_of
from reports.services.departures import agreement_standing
from reports.services.failed_checks import FailedChecks
from reports.services.quality.told import QualityTold, disagreements_in
from reports.services.time_of_use import outdoor_in_use
from tests import factories as make
from tests.agreeing import accepted, consultant_of
from tests.alerts.conftest import work
from tests.readings.doing import a_log, hand_in
from tests.reports.measured import house, judge
from tests.reports.quality_house import at, beside, duplicate, quality_house, zero

known_hole = pytest.mark.xfail(strict=True, reason="known hole")
RNG = np.random.default_rng(4)


def low_result(found: object) -> Result:
    return Result.objects.get(point__room__zone=found.low)  # type: ignore[attr-defined]


@pytest.mark.django_db
class TestChecksAndRuns:
    @pytest.mark.parametrize("shown", [0.0, 0.001])
    def test_a_meter_that_is_dead_at_span_gas_calls_nothing_below(self, site: m.Site, shown: float) -> None:
        found = house(site)
        for hours in (-0.9, 7.1):
            check = m.FieldCheck.objects.create(
                channel=found.channel, kind="span", at=at(hours), reference=0.4, observed=shown, u_reference=0.004
            )
            field_checks.accept(check, "They are always like this.", consultant_of(found.campaign))
        judge(found.campaign)
        result = low_result(found)
        assert result.verdict == Verdict.NOT_COMPARABLE.value
        assert any("did not answer" in reason.words for reason in result.stated_reasons)

    def test_a_zero_run_far_from_zero_shows_in_the_results(self, site: m.Site) -> None:
        found = house(site)
        zero(found, found.instrument, np.round(-0.25 + 0.001 * RNG.standard_normal(60), 3))
        judge(found.campaign)
        result = low_result(found)
        assert result.verdict != Verdict.BELOW.value or result.comparability == ComparabilityState.INDICATIVE.word

    def test_a_meter_whose_zero_run_says_nothing_is_no_pass(self, site: m.Site) -> None:
        found, other = quality_house(site)
        acceptance_limits.put(found.campaign, {"detection": 20.0}, consultant_of(found.campaign))
        zero(found, found.instrument, np.round(0.001 * RNG.standard_normal(30), 3))
        zero(found, other, np.array([0.2, 0.5]), hours=14)
        judge(found.campaign)
        told = [row for row in QualityTold.of(found.campaign).rows if row.limit]
        assert any(row.outcome == "not_assessed" and "meter B" in row.about for row in told)

    def test_a_run_that_is_too_short_does_not_vanish_beside_a_good_one(self, site: m.Site) -> None:
        found, other = quality_house(site)
        acceptance_limits.put(found.campaign, {"bias": 10.0}, consultant_of(found.campaign))
        beside(found, other, 0.0)
        beside(found, other, 0.5, n=3, hours=16)
        judge(found.campaign)
        told = [row for row in QualityTold.of(found.campaign).rows if row.limit]
        assert {row.outcome for row in told} != {"passed"}

    def test_a_dead_meter_beside_a_high_one_is_a_problem_to_show(self, site: m.Site) -> None:
        found, other = quality_house(site)
        duplicate(found, other, 0.25, 0.0)
        judge(found.campaign)
        assert disagreements_in(found.campaign, str(found.high.key))

    def test_what_is_below_detection_contradicts_nothing_near_it(self, site: m.Site) -> None:
        found, other = quality_house(site)
        duplicate(found, other, 0.012, 0.0)
        judge(found.campaign)
        assert not disagreements_in(found.campaign, str(found.high.key))

    def test_a_display_without_negative_numbers_hides_no_noise(self) -> None:
        shown = np.maximum(np.round(0.010 * RNG.standard_normal(600), 3), 0.0)
        at_ms = 10_000 * np.arange(1, 601, dtype=np.int64)
        series = Series(at_ms, shown, np.zeros(600, np.int16), 10_000, 0, int(at_ms[-1]) + 10_000)
        told = in_zero_air(series, 0.001, None)
        assert told is None or told.variance >= (0.9 * 0.010) ** 2


class TestPartsThatGetLost:
    def test_visits_of_a_day_of_which_one_lacks_a_reference(self) -> None:
        parts = (Component("zero", 1.0), Component("span", 1.0))
        lacking = Budget((*parts, Component(REFERENCE, None)))
        told = mean_of([Estimate(value=1.0, budget=Budget(parts)), Estimate(value=3.0, budget=lacking)])
        assert told.value == 2
        assert told.budget.missing == (REFERENCE,)

    def test_noise_of_one_visit_and_scatter_of_another_both_count_once(self) -> None:
        """Of the mean of two values √(u₁² + u₂²)/2 (JCGM 100 §5.1.2)."""
        each = (Component(NOISE, 0.3, shrinks=True), Component(SCATTER, 0.4, shrinks=True))
        assert mean_of([Estimate(value=1.0, budget=Budget((part,))) for part in each]).budget.combined == pytest.approx(
            0.25
        )

    def test_a_failed_check_outdoors_is_kept_over_days_in_use(self) -> None:
        failed = FailedChecks(("The zero check failed.",))
        outdoor = OutdoorValue(420.0, 10.0, 420.0, 420.0, "outdoors", ("key",), failed)
        day = OccupiedDay(make.START.date(), np.array([0]), np.array([3_600_000]))
        told = outdoor_in_use(lambda *_: outdoor, None, [day])  # type: ignore[arg-type]
        assert isinstance(told, OutdoorValue)
        assert told.failed == failed


@pytest.mark.django_db
class TestAlertsThatMislead:
    def logged(self, site: m.Site, by: m.User, level: dict[str, object], head: str, values: list[float]) -> m.Campaign:
        campaign = make.CampaignFactory.create(site=site, name="Round")
        parameter, unit = level["parameter"], head.split("[")[1][:-1]
        meter = make.InstrumentFactory.create(
            organisation=site.organisation, name="meter R", serial="TST-77", channel__parameter=parameter,
            channel__unit=unit, channel__range_high=5000.0, channel__resolution=0.1, channel__detection_limit=None,
        )  # fmt: skip
        alert_levels.make(campaign, [], averaging="any", minutes=0, **level)
        hand_in(campaign, a_log(values, head=f"time,{head}", every_s=60), "r.csv", meter, by)
        work()
        return campaign

    def test_a_deadly_log_is_told_though_a_question_about_it_is_open(self, site: m.Site, consultant: m.User) -> None:
        level: dict[str, object] = {"parameter": "co", "value": 300.0, "unit": "ppm"}
        assert self.logged(site, consultant, level, "CO [ppm]", [1200.0] * 60).alerts.exists()

    def test_fahrenheit_is_told_in_celsius(self, site: m.Site, consultant: m.User) -> None:
        """95 °F are 35 °C."""
        level: dict[str, object] = {"parameter": "temperature", "value": 26.0, "unit": "°C"}
        values = [70.0] * 10 + [95.0] * 5 + [70.0] * 10
        alert = self.logged(site, consultant, level, "temperature [°F]", values).alerts.get()
        assert alert.value == pytest.approx(35.0)

    def test_an_alert_keeps_value_and_unit_together(self, site: m.Site, consultant: m.User) -> None:
        level: dict[str, object] = {"parameter": "co", "value": 300.0, "unit": "ppm"}
        campaign = self.logged(site, consultant, level, "CO [ppm]", [2.0] * 30 + [412.0] * 3 + [2.0] * 30)
        alert_levels.change(campaign.alert_levels.get(), unit="mg/m³")
        work()
        alert = campaign.alerts.get()
        assert (alert.unit == "ppm") is (alert.value == pytest.approx(412))


@pytest.mark.django_db
class TestWhatWasAgreed:
    @known_hole
    @pytest.mark.parametrize("what", ["pressure", "height", "document"])
    def test_the_gate_notices(self, site: m.Site, what: str) -> None:
        found = house(site)
        limit = make_own(site)
        make.CriterionFactory(campaign=found.campaign, limit=limit)
        found.campaign.planned_points.filter(point__room__zone=found.empty).delete()
        accepted(found.campaign, at=make.START - timedelta(days=7))
        assert agreement_standing(found.campaign).departures == ()
        if what == "pressure":
            save_changed(found.campaign, station_pressure_kpa=60.0)
        elif what == "height":
            save_changed(m.SamplingPoint.objects.get(room__zone=found.high), height_m=0.1)
        else:
            save_changed(limit, document="Specification, revision B")
        assert agreement_standing(m.Campaign.objects.get(pk=found.campaign.pk)).departures


def make_own(site: m.Site) -> m.Limit:
    from campaigns.services import own_limits

    return own_limits.make(
        site.organisation, parameter="formaldehyde", value=Decimal("0.1"), unit="mg/m³", averaging="rolling_mean",
        averaging_minutes=30, body="Client", document="Specification, revision A",
    )  # fmt: skip
