"""Judging a campaign from stored readings: numbers by hand, runs that agree, and what governs a zone."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from math import erf, sqrt
from typing import Any

import numpy as np
import pytest
from django.utils import timezone

from campaigns import models as m
from campaigns.stamps import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.models import Criterion, Evaluation, Finding, Limit, Result
from reports.services.evaluate import evaluate_campaign, keep, results_of
from reports.services.zones import concern, governing
from tests import factories as make
from tests.reports.measured import House, house, judge, measure

#: mg/m³ per ppm of formaldehyde at 25 °C and 101.325 kPa: 30.026 / 24.4654 (U-07; molar volume from the SI of 2019).
FACTOR = 30.026 / (8.314462618 * 298.15 / 101.325)
WHO = 0.1  # mg/m³, worst 30-minute mean (HCHO-WHO10-30M)


@pytest.fixture
def judged(site: m.Site) -> House:
    return house(site)


def above(x: float, limit: float, u: float) -> float:
    """Φ((x − L)/u): JCGM 106 §7."""
    return 0.5 * (1 + erf((x - limit) / u / sqrt(2)))


def result_at(zone: m.Zone, code: str = "HCHO-WHO10-30M") -> Result:
    return Result.objects.get(point__room__zone=zone, criterion__limit__code=code)


def store(found: House, channel: m.Channel, start: datetime, raw: list[float]) -> None:
    """A log of its own with a reading a minute."""
    upload = Upload.objects.create(
        campaign=found.campaign, instrument=found.instrument, filename=f"{start:%H%M}.csv", size=1,
        sha256=f"{Upload.objects.count():064x}",
    )  # fmt: skip
    n = len(raw)
    stamp = utc_ms(start) + 60_000 * np.arange(1, n + 1, dtype=np.int64)
    zeros = np.zeros(n, dtype=np.int64)
    write([Batch(channel.pk, upload.pk, stamp, zeros, np.array(raw), zeros, np.arange(1, n + 1))])


def steady(found: House, zone: m.Zone, level: float, hour: int, *, kind: str = "room_air", name: str = "p") -> Result:
    """An hour of one and the same reading a minute, judged."""
    room = zone.rooms.get()
    point = make.PointFactory(room=room, name=name, kind=kind)
    start = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=point, starts_at=start,
        ends_at=start + timedelta(hours=1),
    )  # fmt: skip
    store(found, found.channel, start, [level] * 60)
    judge(found.campaign)
    return Result.objects.get(deployment=deployment, criterion__limit__code="HCHO-WHO10-30M")


# --- the number, its uncertainty, its verdict, by hand ----------------------------------------------------------------


def test_value_uncertainty_and_verdict_by_hand(judged: House) -> None:
    found = steady(judged, judged.empty, 0.1, 20)
    x = 0.1 * FACTOR
    parts = {
        "zero": 0.002 * FACTOR,
        "span": 0.05 * x,
        "drift": 0.0005 * FACTOR * (13.5 - 1 / 60) / 24,  # per day; zero held from hour 7 to the last reading at 20:29
        "temperature": 0.001 * FACTOR,
        "interference": 0.002 * FACTOR,
        "resolution": 0.001 * FACTOR / sqrt(12),  # M-01
        "scatter of readings": 0.0,
    }
    u = sqrt(sum(part**2 for part in parts.values()))
    assert found.value == pytest.approx(x, rel=1e-9)
    assert {row["name"]: row["u"] for row in found.budget} == pytest.approx(parts, rel=0.01, abs=1e-12)
    assert found.u == pytest.approx(u, rel=1e-3)
    assert found.p_above == pytest.approx(above(x, WHO, u), rel=1e-3)
    assert found.verdict == "above"
    assert found.unit == "mg/m³"
    assert "converted from ppm to mg/m³ at 25 °C, 101.325 kPa" in found.trace["said"]


def test_below_the_limit_the_span_counts_at_the_limit(judged: House) -> None:
    """A true value at the limit would carry the span's error of the limit, so that one decides."""
    found = steady(judged, judged.empty, 0.05, 2)  # between the zero checks: no drift
    x = 0.05 * FACTOR
    fixed = FACTOR * sqrt(0.002**2 + 0.001**2 + 0.002**2 + 0.001**2 / 12)
    assert found.p_above == pytest.approx(above(x, WHO, sqrt(fixed**2 + (0.05 * WHO) ** 2)), rel=1e-6)
    assert found.u == pytest.approx(sqrt(fixed**2 + (0.05 * x) ** 2), rel=1e-6)
    assert found.verdict == "below"


def test_near_the_limit_it_is_undecided_and_says_what_would_decide(judged: House) -> None:
    found = steady(judged, judged.empty, 0.08, 2)
    assert found.verdict == "undecided"
    assert 0.05 < (found.p_above or 0) < 0.95
    finding = Finding.objects.get(zone=judged.empty)
    assert finding.advice
    assert finding.fraction == pytest.approx(0.08 * FACTOR / WHO)


def test_zero_span_and_calibration_are_taken_into_the_value(judged: House) -> None:
    """((raw − zero) / span) · slope + intercept, METHODS M5: ((0.1 − 0.004) / 1.0) · 0.9."""
    channel = judged.channel
    m.FieldCheck.objects.filter(channel=channel).update(observed=0.004)
    m.Calibration.objects.update(slope=0.9)
    m.FieldCheck.objects.filter(channel=channel).update(reference=0.0)
    found = steady(judged, judged.empty, 0.1, 2)
    assert found.value == pytest.approx((0.1 - 0.004) * 0.9 * FACTOR, rel=1e-9)


def test_warming_up_and_settling_do_not_count(judged: House) -> None:
    """3 × T90 = 90 s from the start of the deployment (METHODS M4): the reading at 1 min does not count."""
    start = make.START + timedelta(hours=2)
    found = steady(judged, judged.empty, 0.05, 2)
    assert datetime.fromisoformat(found.trace["first"]["at"]) == start + timedelta(minutes=2)
    assert found.window_start == start  # of equal windows the first is taken
    assert found.reading_count == 29
    assert found.coverage == pytest.approx(28.5 / 30)


def test_the_trace_leads_to_the_lines_of_the_file(judged: House) -> None:
    trace = result_at(judged.high).trace
    assert trace["first"]["file"] == "attic and library.csv"
    assert trace["first"]["sha256"] == judged.upload.sha256
    assert trace["first"]["line"] < trace["last"]["line"]
    assert trace["first"]["upload"] == str(judged.upload.key)


def test_too_short_for_the_limit_is_context_and_not_comparable(site: m.Site) -> None:
    found = house(site, limits=("HCHO-HC-8H",))
    result = result_at(found.high, "HCHO-HC-8H")
    assert result.verdict == "not_comparable"
    assert result.trace["is_context"] is True
    assert result.p_above is None
    statement = Finding.objects.get(zone=found.high).statement
    assert statement.startswith("Formaldehyde, mean of the visit: ")
    assert "not comparable. The visit of 90 min is shorter than the 8 h averaged over." in statement


def test_all_below_detection_is_never_a_number_in_words(judged: House) -> None:
    result = steady(judged, judged.empty, 0.001, 2)
    assert result.trace["lower"] == pytest.approx(0)
    assert result.verdict == "below"
    assert "below 0.00123 mg/m³" in Finding.objects.get(zone=judged.empty).statement


# --- runs -------------------------------------------------------------------------------------------------------------


def state(campaign: m.Campaign) -> Any:
    results = Result.objects.filter(criterion__campaign=campaign).order_by("pk")
    findings = Finding.objects.filter(criterion__campaign=campaign).order_by("pk")
    return (
        list(results.values("pk", "key", "digest", "value", "u", "verdict")),
        list(findings.values("pk", "key", "digest", "statement")),
        Evaluation.objects.get(campaign=campaign).digest,
    )


def test_the_same_inputs_give_the_same_rows_and_digests(judged: House) -> None:
    before = state(judged.campaign)
    judge(judged.campaign)
    assert state(judged.campaign) == before
    # recomputed from nothing, too
    Result.objects.all().delete()
    judge(judged.campaign)
    assert [row["digest"] for row in state(judged.campaign)[0]] == [row["digest"] for row in before[0]]
    assert state(judged.campaign)[2] == before[2]


def test_what_did_not_change_is_not_written_again(judged: House) -> None:
    fields = [one.fields for one in results_of(judged.campaign)]
    assert fields == [None, None]


def test_a_corrected_calibration_gives_a_new_digest_under_the_same_key(judged: House) -> None:
    before = result_at(judged.high)
    m.Calibration.objects.update(slope=1.1)
    judge(judged.campaign)
    after = result_at(judged.high)
    assert after.key == before.key
    assert after.digest != before.digest
    assert after.value == pytest.approx((before.value or 0) * 1.1, rel=1e-9)


def test_a_deployment_removed_takes_its_result_and_finding_along(judged: House) -> None:
    m.Deployment.objects.filter(point__room__zone=judged.high).delete()
    judge(judged.campaign)
    assert not Result.objects.filter(point__room__zone=judged.high).exists()
    assert not Finding.objects.filter(zone=judged.high).exists()
    assert Finding.objects.filter(zone=judged.low).exists()


def test_a_criterion_removed_takes_its_results_along(site: m.Site) -> None:
    found = house(site, limits=("HCHO-WHO10-30M", "HCHO-HC-1H"))
    Criterion.objects.get(limit__code="HCHO-HC-1H").delete()
    assert set(Result.objects.values_list("criterion__limit__code", flat=True)) == {"HCHO-WHO10-30M"}
    judge(found.campaign)
    assert Finding.objects.count() == 2


def test_a_later_run_wins_over_an_earlier_one_that_ends_after_it(judged: House) -> None:
    started = timezone.now() - timedelta(minutes=1)
    stale = list(results_of(judged.campaign))
    m.Calibration.objects.update(slope=1.1)
    judge(judged.campaign)
    kept = state(judged.campaign)
    assert keep(judged.campaign, stale, started) is False
    assert state(judged.campaign) == kept


def test_the_job_says_when_it_was_overtaken(judged: House) -> None:
    Evaluation.objects.update(at=timezone.now() + timedelta(minutes=5))
    job = m.Job.objects.create(
        kind="evaluate", subject_id=judged.campaign.pk, organisation=judged.campaign.site.organisation
    )
    taken = m.Job.take(job.pk)
    assert taken is not None
    assert evaluate_campaign(taken)[:2] == (m.Job.State.DONE, "overtaken")


def test_an_instrument_with_two_channels_speaks_in_the_unit_of_the_limit(judged: House) -> None:
    """Readings of both channels are held; the one in mg/m³ needs no conversion and is taken, once."""
    make.ChannelSpecFactory(instrument_type=judged.instrument.type, unit="mg/m³", range_high=6.0)
    channel = judged.instrument.channels.get(spec__unit="mg/m³")
    store(judged, channel, make.START, [0.3] * 90)
    judge(judged.campaign)
    result = result_at(judged.high)
    assert result.value == pytest.approx(0.3)
    assert "mg/m³" in result.trace["channel"]
    judge(judged.campaign)
    assert result_at(judged.high).digest == result.digest


# --- what governs a zone ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", ["enclosed", "supply_air"])
def test_enclosed_spaces_and_supply_air_never_govern(judged: House, kind: str) -> None:
    before = Finding.objects.get(zone=judged.low)
    cabinet = steady(judged, judged.low, 1.0, 6, kind=kind, name="tall cabinet")
    after = Finding.objects.get(zone=judged.low)
    assert cabinet.verdict == "above"
    assert after.governing_id == before.governing_id
    assert after.verdict == "below"


def test_a_zone_with_nothing_but_an_enclosed_space_stays_unmeasured(judged: House) -> None:
    steady(judged, judged.empty, 1.0, 6, kind="enclosed", name="tall cabinet")
    assert not Finding.objects.filter(zone=judged.empty).exists()


def test_an_unmeasured_zone_has_no_finding(judged: House) -> None:
    assert set(Finding.objects.values_list("zone", flat=True)) == {judged.high.pk, judged.low.pk}


def test_the_worst_point_governs_and_the_sentence_says_among_how_many(judged: House) -> None:
    steady(judged, judged.low, 0.3, 6, name="by the window")
    finding = Finding.objects.get(zone=judged.low)
    assert finding.verdict == "above"
    assert finding.governing.point.name == "by the window"
    assert "which governs among 2 points" in finding.statement


def test_where_probabilities_print_alike_the_higher_value_governs(judged: House) -> None:
    """A smaller uncertainty must not outrank a higher value when both are surely above."""
    high, low = result_at(judged.high), result_at(judged.high)
    high.value, high.trace = 0.206, {**high.trace, "p_not_met": 1 - 1e-12}
    low.value, low.trace = 0.190, {**low.trace, "p_not_met": 1 - 1e-15}
    assert governing([low, high]) is high


def test_what_cannot_be_compared_never_hides_what_can(judged: House) -> None:
    small, vast = result_at(judged.low), result_at(judged.high)
    vast.verdict, vast.value = "not_comparable", 9.0
    assert governing([vast, small]) is small
    assert concern(small) < concern(vast)


def test_the_sentence_stands_on_its_own(judged: House) -> None:
    statement = Finding.objects.get(zone=judged.high).statement
    assert statement.startswith("Formaldehyde, worst 30-minute mean: 0.3")
    assert "at Attic studio room, centre, 15 Sep 2026 " in statement
    assert "Against ≤ 0.1 mg/m³ (WHO (Europe) 2010): above limit;" in statement
    assert statement.endswith("the probability that the true value is above the limit is over 99.9 %.")
    assert "safe" not in statement


def test_an_indication_is_called_one(site: m.Site) -> None:
    found = house(site, limits=("HCHO-NIOSH-C",))
    finding = Finding.objects.get(zone=found.high)
    assert finding.governing.comparability == "indicative"
    assert "above limit" in finding.statement
    assert finding.statement.endswith(
        "As an indication only: A reading in a room only indicates what a worker breathes."
    )


# --- ranges and lower limits ------------------------------------------------------------------------------------------


def warm(found: House, zone: m.Zone, degrees: list[float], hour: int) -> m.Deployment:
    """A reading of temperature a minute; the thermometer is known to 0.2 °C."""
    held = found.instrument.type.channel_specs.filter(parameter="temperature").first()
    spec = held or make.ChannelSpecFactory(
        instrument_type=found.instrument.type, parameter="temperature", unit="°C", resolution=0.1, range_low=-20,
        range_high=60, detection_limit=None, u_zero=0.2, u_span=0.0, u_drift=0.0, u_temperature=0.0,
        u_interference=0.0,
    )  # fmt: skip
    channel = found.instrument.channels.get(spec=spec)
    start = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument,
        point=make.PointFactory(room=zone.rooms.get(), name=f"thermometer {hour}"),
        starts_at=start, ends_at=start + timedelta(minutes=len(degrees)),
    )  # fmt: skip
    store(found, channel, start, degrees)
    return deployment


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
    assert finding.governing.trace["words"] == words
    assert (finding.governing.trace["is_met"], finding.fraction) == (words == "within the range", None)
    assert f"{words};" in finding.statement
    if words != "within the range":
        assert finding.governing.verdict == verdict
        assert finding.governing.value == pytest.approx(31.0 if verdict == "above" else 12.0)


def test_under_a_lower_limit_the_coldest_point_governs(site: m.Site) -> None:
    """At least 18 °C (TRH-WHO)."""
    found = house(site, limits=("TRH-WHO",))
    cold = warm(found, found.empty, [15.0] * 60, 8)
    warm(found, found.empty, [21.0] * 60, 10)
    judge(found.campaign)
    finding = Finding.objects.get(zone=found.empty)
    assert finding.governing.deployment == cold
    assert finding.governing.trace["is_met"] is False
    assert finding.governing.trace["p_not_met"] > 0.99
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
    assert result.reasons[0]["code"] == "not-convertible"
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
