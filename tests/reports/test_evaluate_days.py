"""A limit on the mean of the readings of a day: one visit, several visits, and a log over days (CO2-JP, 1000 ppm)."""

from __future__ import annotations

from datetime import date, timedelta
from math import pi, sqrt

import numpy as np
import pytest

from campaigns import models as m
from reports.models import Result
from tests import factories as make
from tests.reports.judging import store
from tests.reports.measured import House, house, judge

LIMIT = "CO2-JP"
#: Of the meter below, ppm; its display steps by 1 ppm.
U_ZERO, U_SPAN = 20.0, 0.02


@pytest.fixture
def found(site: m.Site) -> House:
    """A house at a place whose days begin at 15:00 UTC, with a meter of carbon dioxide."""
    site.time_zone = "Asia/Tokyo"
    site.save()
    found = house(site, limits=(LIMIT,))
    make.ChannelSpecFactory(
        instrument_type=found.instrument.type, parameter="co2", unit="ppm", resolution=1.0, range_low=0,
        range_high=5000, detection_limit=None, u_zero=U_ZERO, u_span=U_SPAN, u_drift=0.0, u_temperature=0.0,
        u_interference=0.0,
    )  # fmt: skip
    channel = found.instrument.channels.get(spec__parameter="co2")
    m.Calibration.objects.create(channel=channel, date=date(2026, 3, 2), due=date(2027, 3, 2), certificate="no. 78")
    return found


def visit(found: House, hour: float, values: list[float], point: m.SamplingPoint) -> m.Deployment:
    """A reading a minute from ``hour`` of the first day on, UTC."""
    start = make.START.replace(hour=0, minute=0) + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=point, starts_at=start,
        ends_at=start + timedelta(minutes=len(values)),
    )  # fmt: skip
    store(found, found.instrument.channels.get(spec__parameter="co2"), start, values)
    return deployment


def point_in(found: House) -> m.SamplingPoint:
    return make.PointFactory(room=found.empty.rooms.get(), name="middle")


def result_of(deployment: m.Deployment) -> Result:
    return Result.objects.get(deployment=deployment, criterion__limit__code=LIMIT)


def test_one_high_reading_of_a_working_day_does_not_break_the_mean_of_the_day(found: House) -> None:
    """Eight hours at 800 ppm with two minutes at 1150: the highest reading is no mean of the day."""
    log = visit(found, 0, [800.0] * 200 + [1150.0] * 2 + [800.0] * 278, point_in(found))
    judge(found.campaign)
    result = result_of(log)
    n = result.reading_count
    assert result.value == pytest.approx(((n - 2) * 800 + 2 * 1150) / n)
    assert (result.verdict, result.comparability) == ("below", "yes")
    assert any("the mean of the readings of a day" in said for said in result.traced.said)
    assert ("Readings of the day" in dict(result.traced.details)) is True


def test_two_visits_of_a_day_are_its_two_readings(found: House) -> None:
    """09:00 to 09:30 and 15:00 to 15:10 of one day at the place: each visit counts once, in both results."""
    point = point_in(found)
    early, late = visit(found, 0, [850.0] * 30, point), visit(found, 6, [1350.0] * 10, point)
    judge(found.campaign)
    for deployment in (early, late):
        result = result_of(deployment)
        assert result.value == pytest.approx(1100.0)
        assert (result.verdict, result.comparability, result.traced.is_context) == ("above", "yes", False)
        assert "2 visits, each counted once" in dict(result.traced.details)["Readings of the day"]
        # what the meter is off by is common to both: that of the higher one, and no smaller for being two
        at_most = sqrt(U_ZERO**2 + (U_SPAN * 1350) ** 2 + 1 / 12)
        assert result.u == pytest.approx(at_most, rel=1e-5)


@pytest.mark.parametrize(("hour", "together"), [(14.5, True), (15.5, False)])
def test_midnight_at_the_place_parts_two_visits(found: House, hour: float, together: bool) -> None:
    point = point_in(found)
    early, late = visit(found, 6, [900.0] * 20, point), visit(found, hour, [1300.0] * 20, point)
    judge(found.campaign)
    assert result_of(early).value == pytest.approx(1100.0 if together else 900.0)
    assert result_of(late).value == pytest.approx(1100.0 if together else 1300.0)
    assert result_of(late).comparability == ("yes" if together else "indicative")


def test_a_log_over_days_is_judged_by_its_worst_day(found: House) -> None:
    day = 24 * 60
    log = visit(found, 15, [500.0] * day + [1500.0] * day + [600.0] * day, point_in(found))
    judge(found.campaign)
    result = result_of(log)
    assert result.value == pytest.approx(1500.0, rel=1e-3)  # the minute of midnight is of the day before
    assert (result.verdict, result.comparability) == ("above", "indicative")
    assert result.stated_reasons[0].code == "day_readings_long"


def test_the_worst_of_like_days_is_held_against_the_limit_less_what_chance_adds(found: House) -> None:
    """Of three independent means the largest is expected 3/(2√π) standard deviations above them, of two 1/√π."""
    day, noise = 24 * 60, 40.0
    values = np.random.default_rng(3).normal(900, noise, 3 * day).round()
    point = point_in(found)
    several = visit(found, 15, values.tolist(), point)
    alone = visit(found, 15 + 4 * 24, values[:day].tolist(), point)
    judge(found.campaign)
    assert result_of(several).excess == pytest.approx(3 / (2 * sqrt(pi)) * noise / sqrt(day), rel=0.1)
    assert "worst_of_many" in {reason.code for reason in result_of(several).stated_reasons}
    assert result_of(alone).excess == 0.0


def test_a_single_reading_is_no_mean_of_a_day(found: House) -> None:
    lone = visit(found, 2, [float("nan")] * 8 + [1500.0, float("nan")], point_in(found))
    judge(found.campaign)
    result = result_of(lone)
    assert (result.verdict, result.comparability) == ("not_comparable", "no")
    assert "two readings of a day" in result.stated_reasons[0].words


def test_instruments_side_by_side_are_one_visit(found: House) -> None:
    point = point_in(found)
    first = visit(found, 0, [1200.0] * 30, point)
    beside = make.InstrumentFactory(
        organisation=found.instrument.organisation, type=found.instrument.type, name="meter B", serial="TST-0099",
        clock_basis="utc", channel=False,
    )  # fmt: skip
    other = House(found.campaign, found.high, found.low, found.empty, beside, found.upload)
    visit(other, 0, [800.0] * 30, point)
    judge(found.campaign)
    assert result_of(first).value == pytest.approx(1200.0)


def test_a_second_visit_that_comes_later_changes_the_first_result(found: House) -> None:
    point = point_in(found)
    early = visit(found, 0, [850.0] * 30, point)
    judge(found.campaign)
    before = result_of(early)
    visit(found, 6, [1350.0] * 10, point)
    judge(found.campaign)
    after = result_of(early)
    assert (before.value, before.comparability) == (850.0, "indicative")
    assert after.value == pytest.approx(1100.0)
    assert after.digest != before.digest
