"""Judging against ranges, lower limits, limits of the house, and limits without a conversion."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from campaigns import models as m
from campaigns.models import Criterion, Limit
from methods.limits.loader import load
from reports.models import Finding, Result
from reports.services.digests import said_of
from tests import factories as make
from tests.reports.judging import result_at, store, warm
from tests.reports.measured import House, house, judge, measure


@pytest.fixture
def judged(site: m.Site) -> House:
    return house(site)


# --- ranges and lower limits ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("degrees", "verdict", "words"),
    [
        ([22.0] * 60, "above", "within the range"),
        ([22.0] * 30 + [31.0] * 30, "above", "above the range"),
        ([12.0] * 30 + [22.0] * 30, "below", "below the range"),
    ],
)
def test_a_range_is_judged_at_both_its_ends(site: m.Site, degrees: list[float], verdict: str, words: str) -> None:
    """18 to 28 °C at each momentary reading (TRH-JP-T): one warm half hour breaks it, and so does a cold one."""
    found = house(site, limits=("TRH-JP-T",))
    warm(found, found.empty, degrees, 8)
    judge(found.campaign)
    finding = Finding.objects.get(zone=found.empty)
    assert finding.governing.traced.words == words
    assert (finding.governing.traced.is_met, finding.fraction) == (words == "within the range", None)
    assert f"{words};" in finding.statement
    if words != "within the range":
        assert finding.governing.verdict == verdict
        assert finding.governing.value == pytest.approx(31.0 if verdict == "above" else 12.0)


@pytest.mark.parametrize("represents", ["spot", "end", "start", "middle"])
def test_a_momentary_limit_is_held_against_the_single_reading(site: m.Site, represents: str) -> None:
    """One warm minute among cool ones is judged as itself, not as the mean of it and its neighbour."""
    found = house(site, limits=("TRH-JP-T",))
    found.instrument.type.represents = represents
    found.instrument.type.save()
    warm(found, found.empty, [22.0] * 30 + [31.0] + [22.0] * 29, 8)
    judge(found.campaign)
    result = Finding.objects.get(zone=found.empty).governing
    assert result.value == pytest.approx(31.0)
    assert result.traced.is_met is False
    assert result.traced.first == result.traced.last
    assert result.window_start is not None
    assert result.window_end is not None
    begin = {"spot": 0.5, "end": 1, "start": 0, "middle": 0.5}[represents]  # stamped 08:31 after the start at 08:00
    assert (result.window_start - make.START - timedelta(hours=8)) / timedelta(minutes=1) == 31 - begin
    assert result.window_end - result.window_start == timedelta(minutes=1)


def test_under_a_lower_limit_the_coldest_point_governs(site: m.Site) -> None:
    """At least 18 °C (TRH-WHO)."""
    found = house(site, limits=("TRH-WHO",))
    cold = warm(found, found.empty, [15.0] * 60, 8)
    warm(found, found.empty, [21.0] * 60, 10)
    judge(found.campaign)
    finding = Finding.objects.get(zone=found.empty)
    assert finding.governing.deployment == cold
    assert finding.governing.traced.is_met is False
    assert (finding.governing.traced.p_not_met or 0.0) > 0.99
    assert "below the lower limit" in finding.statement
    assert finding.fraction is None


# --- limits that have no conversion, and own ones ---------------------------------------------------------------------


def test_no_conversion_is_a_reason_and_no_crash(site: m.Site) -> None:
    found = house(site, limits=("HCHO-WHO10-30M",))
    limit = Limit.objects.filter(parameter="tvoc", unit="µg/m³").first()
    assert limit is not None
    make.ChannelSpecFactory(instrument_type=found.instrument.type, parameter="tvoc", unit="ppb", range_high=5000)
    channel = found.instrument.channels.get(spec__parameter="tvoc")
    store(found, channel, make.START, [300.0] * 90)
    Criterion.objects.create(campaign=found.campaign, limit=limit, position=5)
    judge(found.campaign)
    result = Result.objects.get(criterion__limit=limit)
    assert (result.verdict, result.value) == ("not_comparable", None)
    assert result.stated_reasons[0].code == "not-convertible"
    assert "no value" in Finding.objects.get(criterion__limit=limit).statement


def test_an_own_limit_judges_like_a_published_one(site: m.Site, consultant: m.User) -> None:
    own = Limit.objects.create(
        organisation=site.organisation, code="OWN-1", body="Client", document="Specification", parameter="formaldehyde",
        value=Decimal("0.15"), unit="ppm", averaging="rolling_mean", averaging_minutes=60,
    )  # fmt: skip
    found = house(site)
    Criterion.objects.create(campaign=found.campaign, limit=own, position=1)
    judge(found.campaign)
    result = result_at(found.high, "OWN-1")
    assert result.verdict == "above"
    assert result.value == pytest.approx(0.25, abs=0.002)
    own.value = Decimal("0.5")
    own.save()
    assert m.Job.objects.filter(kind="evaluate", state="queued").exists(), "an edited limit is judged again"


def test_a_visit_still_under_way_is_judged_up_to_its_last_reading(judged: House) -> None:
    deployment = measure(
        judged, judged.empty.rooms.get().points.get(), make.START + timedelta(hours=30), 0.02, line=900
    )
    m.Deployment.objects.filter(pk=deployment.pk).update(ends_at=None)
    judge(judged.campaign)
    assert Finding.objects.get(zone=judged.empty).verdict == "below"


def test_overdue_papers_change_flags_and_not_the_value(judged: House) -> None:
    before = result_at(judged.high)
    m.Calibration.objects.update(date=date(2025, 1, 1), due=date(2026, 1, 1))
    judge(judged.campaign)
    after = result_at(judged.high)
    assert after.value == before.value
    assert after.digest != before.digest


def test_a_limit_without_one_is_in_digests_as_it_always_was() -> None:
    assert "tolerance" not in said_of(load()["HCHO-WHO10-30M"])
    assert said_of(load()["HCHO-WELL2"])["tolerance"] == "0.20"
