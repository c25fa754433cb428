"""What a judgement takes into account beside the readings: outdoor air, kind of place, consecutive stays, shifts."""

from __future__ import annotations

from datetime import timedelta
from math import hypot, sqrt
from typing import Any

import pytest

from campaigns import models as m
from campaigns.models import Criterion, Limit
from reports.models import Finding, Result
from tests import factories as make
from tests.reports.judging import FACTOR, FACTOR_AT_ZERO, above, ends_of, outdoor_of, result_at, store
from tests.reports.measured import House, against, house, judge
from tests.worlds import World

WHO, OFF = "HCHO-WHO10-30M", "HCHO-CN-50325-I"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def judged(own_world: World) -> House:
    built: House = own_world.built
    return built


def outdoor_point(found: House) -> m.SamplingPoint:
    return make.PointFactory(room=None, site=found.campaign.site, name="north lawn", kind="outdoor")


def stay(
    found: House,
    point: m.SamplingPoint,
    level: float,
    hour: float,
    *,
    minutes: int = 60,
    meter: m.Instrument | None = None,
) -> m.Deployment:
    """One and the same reading a minute, in ppm."""
    instrument = meter or found.instrument
    start = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=instrument, point=point, starts_at=start,
        ends_at=start + timedelta(minutes=minutes),
    )  # fmt: skip
    store(found, instrument.channels.get(), start, [level] * minutes)
    return deployment


def another_meter(found: House) -> m.Instrument:
    meter = make.InstrumentFactory(
        organisation=found.instrument.organisation, name="meter B", serial="TST-0002", clock_basis="utc",
    )  # fmt: skip
    for hours in (-1, 30):
        m.FieldCheck.objects.create(
            channel=meter.channels.get(), kind="zero", at=make.START + timedelta(hours=hours), reference=0, observed=0
        )
    return meter


def criterion(found: House, **changes: Any) -> Criterion:
    """A published limit of our choice, or one of the house."""
    return Criterion.objects.create(campaign=found.campaign, limit=Limit.objects.get(**changes), position=9)


# --- outdoor air ------------------------------------------------------------------------------------------------------


def test_the_outdoor_value_of_the_same_time_is_taken_off_where_the_limit_says_so(judged: House) -> None:
    """GB 50325 corrects by the outdoor value. By hand: (0.100 − 0.020) ppm; u of both in quadrature, the span of the
    indoor part at limit + outdoor (a true difference at the limit would read that much)."""
    chosen = criterion(judged, code=OFF)
    limit = chosen.limit.as_library()
    assert limit.outdoor_rule == "outdoor_subtracted"
    point = judged.empty.rooms.get().points.get()
    stay(judged, point, 0.100, 2)
    outside = stay(judged, outdoor_point(judged), 0.020, 2, meter=another_meter(judged))
    judge(judged.campaign)
    found = result_at(judged.empty, OFF)
    assert found.value == pytest.approx(0.080 * FACTOR_AT_ZERO, rel=1e-9)

    def u(x: float) -> float:
        return FACTOR_AT_ZERO * sqrt(0.002**2 + 0.001**2 + 0.002**2 + 0.001**2 / 12 * (2 + 1 / 30) + (0.05 * x) ** 2)

    assert found.u == pytest.approx(hypot(u(0.100), u(0.020)), rel=2e-3)
    assert limit.upper is not None
    at_limit = hypot(u(limit.upper / FACTOR_AT_ZERO + 0.020), u(0.020))
    assert found.p_above == pytest.approx(above(0.080 * FACTOR_AT_ZERO, limit.upper, at_limit), rel=1e-3)
    beside = outdoor_of(found)
    assert beside.deployments == (str(outside.key),)
    assert "measured at the same time (north lawn, meter B" in beside.words
    assert any(said.startswith("the outdoor value was taken off: 0.02") for said in found.traced.said)
    assert "outdoor value" in {part.name for part in found.budget_parts}
    statement = Finding.objects.get(zone=judged.empty, criterion=chosen).statement
    assert "less the outdoor value" in statement


def test_an_absolute_limit_keeps_its_value_and_gets_ratio_and_difference(judged: House) -> None:
    point = judged.empty.rooms.get().points.get()
    stay(judged, point, 0.100, 2)
    stay(judged, outdoor_point(judged), 0.020, 2, meter=another_meter(judged))
    judge(judged.campaign)
    found = result_at(judged.empty)
    beside = outdoor_of(found)
    assert found.value == pytest.approx(0.100 * FACTOR)
    assert beside.taken_off is False
    assert beside.difference == pytest.approx(0.080 * FACTOR)
    assert beside.ratio == pytest.approx(5.0)
    assert found.u is not None
    assert found.value is not None
    assert beside.u_ratio == pytest.approx(5 * hypot(found.u / found.value, beside.u / beside.value))


def test_visits_before_and_after_stand_for_the_time_between(judged: House) -> None:
    """Their mean; what lies between the two is open, a rectangle of that width (JCGM 100 §4.3.7)."""
    lawn = outdoor_point(judged)
    meter = another_meter(judged)
    stay(judged, lawn, 0.020, 0, meter=meter)
    stay(judged, judged.empty.rooms.get().points.get(), 0.100, 4.75)
    stay(judged, lawn, 0.030, 8, meter=meter)
    judge(judged.campaign)
    beside = outdoor_of(result_at(judged.empty))
    assert beside.value == pytest.approx(0.025 * FACTOR)
    assert beside.words.startswith("mean of the visits before and after (")
    each = FACTOR * sqrt(0.002**2 + 0.001**2 + 0.002**2 + 0.001**2 / 12 * (2 + 1 / 30) + (0.05 * 0.030) ** 2)
    assert beside.u == pytest.approx(hypot(each, 0.005 * FACTOR / sqrt(3)), rel=2e-3)


def test_visits_during_a_long_window_are_averaged(judged: House) -> None:
    """Three hours indoors, two visits outdoors within them: their mean, and half their distance as a rectangle."""
    criterion(judged, code=OFF)
    lawn, meter = outdoor_point(judged), another_meter(judged)
    stay(judged, judged.empty.rooms.get().points.get(), 0.100, 5, minutes=180)
    stay(judged, lawn, 0.020, 5, minutes=30, meter=meter)
    stay(judged, lawn, 0.040, 7, minutes=30, meter=meter)
    judge(judged.campaign)
    beside = outdoor_of(result_at(judged.empty, OFF))
    assert beside.words.startswith("mean of 2 visits during it (")
    assert beside.value == pytest.approx(0.030 * FACTOR_AT_ZERO)
    each = FACTOR_AT_ZERO * sqrt(0.002**2 + 0.001**2 + 0.002**2 + 0.001**2 / 12 * (2 + 1 / 30) + (0.05 * 0.040) ** 2)
    assert beside.u == pytest.approx(hypot(each, 0.010 * FACTOR_AT_ZERO / sqrt(3)), rel=2e-3)


@pytest.mark.parametrize(
    ("outside", "words"),
    [
        (None, "It was not measured outdoors in this campaign."),
        (20, "No outdoor visit lies within 12 h of it."),
    ],
)
def test_without_an_outdoor_value_such_a_limit_is_not_comparable_and_says_why(
    judged: House, outside: int | None, words: str
) -> None:
    criterion(judged, code=OFF)
    if outside is not None:
        stay(judged, outdoor_point(judged), 0.020, outside, meter=another_meter(judged))
    stay(judged, judged.empty.rooms.get().points.get(), 0.100, 2)
    judge(judged.campaign)
    found = result_at(judged.empty, OFF)
    assert found.verdict == "not_comparable"
    assert f"The limit needs an outdoor value from the same time. {words}" in [r.words for r in found.stated_reasons]
    assert result_at(judged.empty).verdict == "above", "an absolute limit does not wait for it"


def test_another_outdoor_reading_judges_again_and_nothing_else_does(judged: House) -> None:
    stay(judged, outdoor_point(judged), 0.020, 2, meter=another_meter(judged))
    judge(judged.campaign)
    before = result_at(judged.high)
    judge(judged.campaign)
    assert result_at(judged.high).digest == before.digest
    m.FieldCheck.objects.filter(channel__instrument__serial="TST-0002").update(observed=0.005)
    judge(judged.campaign)
    after = result_at(judged.high)
    assert after.digest != before.digest
    assert outdoor_of(after).value == pytest.approx(outdoor_of(before).value - 0.005 * FACTOR)


# --- kind of place ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("place", "work", "home"),
    [("", "indicative", "yes"), ("dwelling", "no", "yes"), ("school", "no", "yes"), ("workplace", "indicative", "no")],
)
def test_a_workplace_limit_is_no_criterion_for_a_dwelling_nor_the_reverse(
    judged: House, place: str, work: str, home: str
) -> None:
    found = against(judged, WHO, "HCHO-NIOSH-C")
    building = found.high.floor.building
    building.place_kind = place
    building.save()
    assert m.Job.objects.filter(kind="evaluate", state="queued").exists() is bool(place), "saying so is judged again"
    judge(found.campaign)
    assert result_at(found.high, "HCHO-NIOSH-C").comparability == work
    assert result_at(found.high).comparability == home
    if work == "no":
        assert "The limit is about workers, which this place is not measured for." in (
            Finding.objects.get(zone=found.high, criterion__limit__code="HCHO-NIOSH-C").statement
        )


# --- consecutive deployments ------------------------------------------------------------------------------------------


def test_consecutive_deployments_at_a_point_are_one_stay(judged: House) -> None:
    """Twice 45 min with two meters make an hour; the window lies across the change, and both files are traced."""
    criterion(judged, code="HCHO-HC-1H")
    point = judged.empty.rooms.get().points.get()
    meter = another_meter(judged)
    first = stay(judged, point, 0.050, 5, minutes=45)
    second = stay(judged, point, 0.060, 5.75, minutes=45, meter=meter)
    judge(judged.campaign)
    found = Result.objects.get(point=point, criterion__limit__code="HCHO-HC-1H")
    assert found.comparability == "yes"
    assert found.deployment == first
    assert found.traced.deployments == (str(first.key), str(second.key))
    assert found.window_start is not None
    assert found.window_start < second.starts_at < found.window_end  # type: ignore[operator]
    # 45 min of 0.06 and the 15 before it of 0.05; the settling of the second meter (90 s) does not count
    assert found.value == pytest.approx((15 * 0.050 + 43.5 * 0.060) / 58.5 * FACTOR * 1000, rel=2e-3)
    begin, end = ends_of(found)
    assert (begin.file, end.file) != (end.file,) * 2
    assert found.traced.instrument == "meter A; meter B"
    assert dict(found.traced.details)["One stay"].startswith("2 consecutive deployments at this point")
    judge(judged.campaign)
    assert Result.objects.get(pk=found.pk).digest == found.digest


def test_a_gap_that_would_not_be_bridged_parts_two_stays(judged: House) -> None:
    criterion(judged, code="HCHO-HC-1H")
    point = judged.empty.rooms.get().points.get()
    stay(judged, point, 0.050, 5, minutes=45)
    stay(judged, point, 0.060, 5.8, minutes=45)  # three minutes later, logging every minute
    judge(judged.campaign)
    found = Result.objects.filter(point=point, criterion__limit__code="HCHO-HC-1H")
    assert [result.comparability for result in found] == ["no", "no"]


# --- shifts -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hours", "unsampled", "expected"),
    [
        (8, "as_sampled", 0.100),
        (
            8,
            "zero",
            0.100 * 417 / 480,
        ),  # seven hours: 90 s settle from 1 min on; the last minute's reading comes at the end
        (10, "as_sampled", 0.125),  # E = Σ C·T / 8 h: a ten-hour shift counts ten eighths (T-01)
    ],
)
def test_a_shift_is_weighted_with_the_assumption_named(
    judged: House, hours: int, unsampled: str, expected: float
) -> None:
    """29 CFR 1910.1000(d)(1), T-01, over a visit of seven hours, or of nine for the longer shift."""
    criterion(judged, code="HCHO-OSHA-TWA")
    m.Campaign.objects.filter(pk=judged.campaign.pk).update(shift_hours=hours, unsampled=unsampled)
    judged.campaign.refresh_from_db()
    minutes = 420 if hours == 8 else 540
    stay(judged, judged.empty.rooms.get().points.get(), 0.100, 6, minutes=minutes)
    judge(judged.campaign)
    found = result_at(judged.empty, "HCHO-OSHA-TWA")
    assert found.value == pytest.approx(expected, rel=2e-3)
    assert not found.traced.is_context
    assumed = "free of exposure" if unsampled == "zero" else "like the sampled part"
    assert dict(found.traced.details)["Assumed"].endswith(assumed)
    assert any(said.endswith(assumed) for said in found.traced.said)
    longer = dict(found.traced.details).get("Longer day", "")
    factored = "By the factor of Brief and Scala, 0.7, the limit for its mean would be 0.525 ppm"  # T-06 of OSHA's 0.75
    assert (factored in longer) is (hours == 10)


def test_too_little_of_a_shift_stays_context(judged: House) -> None:
    criterion(judged, code="HCHO-OSHA-TWA")
    stay(judged, judged.empty.rooms.get().points.get(), 0.100, 6, minutes=300)
    judge(judged.campaign)
    found = result_at(judged.empty, "HCHO-OSHA-TWA")
    assert found.traced.is_context is True
    assert "of a shift of 8 h" in found.stated_reasons[0].words


# --- what is told beside ----------------------------------------------------------------------------------------------


def test_coverage_gaps_blocks_and_ceiling_are_told(judged: House) -> None:
    criterion(judged, code="HCHO-NIOSH-C")
    told = dict(result_at(judged.high).traced.details)
    assert told["Covered"] == "30 min of 30 min, by 30 readings; no gap"
    assert told["In fixed blocks"].startswith("3 blocks of 30 min from the start of the visit: 0.30")
    point = judged.empty.rooms.get().points.get()
    start = make.START + timedelta(hours=2)
    make.DeploymentFactory(
        campaign=judged.campaign, instrument=judged.instrument, point=point, starts_at=start,
        ends_at=start + timedelta(minutes=30),
    )  # fmt: skip
    store(judged, judged.channel, start, [0.05] * 15)
    store(judged, judged.channel, start + timedelta(minutes=20), [0.05] * 10)
    judge(judged.campaign)  # settling at the start; five minutes without a log, then 90 s of settling
    assert dict(result_at(judged.empty).traced.details)["Covered"].endswith(
        "2 gaps that are not bridged, the longest 7 min"
    )
