"""Judging a campaign from stored readings: numbers by hand, runs that agree, and what governs a zone."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import hypot, sqrt
from typing import Any

import pytest
from django.utils import timezone

from campaigns import models as m
from campaigns.models import Criterion
from reports.models import Evaluation, Finding, Result
from reports.services.evaluate import evaluate_campaign, keep, one_each, results_of
from reports.services.judging import Known
from reports.services.zone_findings import governing
from tests import factories as make
from tests.reports.judging import FACTOR, above, ends_of, result_at, steady, store
from tests.reports.measured import HIGH, MINUTES, House, against, house, judge
from tests.worlds import World

WHO = 0.1  # mg/m³, worst 30-minute mean (HCHO-WHO10-30M)


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def judged(own_world: World) -> House:
    built: House = own_world.built
    return built


# --- the number, its uncertainty, its verdict, by hand ----------------------------------------------------------------


def test_value_uncertainty_and_verdict_by_hand(judged: House) -> None:
    found = steady(judged, judged.empty, 0.1, 20)
    x = 0.1 * FACTOR
    parts = {
        "zero": hypot(0.002, 0.001 / sqrt(12)) * FACTOR,  # with the rounding of the check
        "span": 0.05 * x,
        "drift": 0.0005 * FACTOR * (13.5 - 1 / 60) / 24,  # per day; zero held from hour 7 to the last reading at 20:29
        "temperature": 0.001 * FACTOR,
        "interference": 0.002 * FACTOR,
        "resolution": 0.001 * FACTOR / sqrt(12),  # M-01
        "noise of the instrument": 0.001 * FACTOR / sqrt(12 * 28),  # no less than that of rounding
        "drift of the span": 0.0,
        "time not covered": 0.0,
    }
    u = sqrt(sum(part**2 for part in parts.values()))
    assert found.value == pytest.approx(x, rel=1e-9)
    assert {part.name: part.u for part in found.budget_parts} == pytest.approx(parts, rel=0.01, abs=1e-12)
    assert found.u == pytest.approx(u, rel=1e-3)
    assert found.p_above == pytest.approx(above(x, WHO, u), rel=1e-3)
    assert found.verdict == "above"
    assert found.unit == "mg/m³"
    assert "converted from ppm to mg/m³ at 25 °C, 101.325 kPa" in found.traced.said


def test_below_the_limit_the_span_counts_at_the_limit(judged: House) -> None:
    """A true value at the limit would carry the span's error of the limit, so that one decides."""
    found = steady(judged, judged.empty, 0.05, 2)  # between the zero checks, at most 3.5 h from the nearer
    x = 0.05 * FACTOR
    drift = 0.0005 * 3.5 / 24
    fixed = FACTOR * sqrt(0.002**2 + 0.001**2 + 0.002**2 + 0.001**2 / 12 * (2 + 1 / 29) + drift**2)
    assert found.p_above == pytest.approx(above(x, WHO, sqrt(fixed**2 + (0.05 * WHO) ** 2)), rel=1e-5)
    assert found.u == pytest.approx(sqrt(fixed**2 + (0.05 * x) ** 2), rel=1e-5)
    assert found.verdict == "below"


def test_near_the_limit_it_is_undecided_and_says_what_would_decide(judged: House) -> None:
    found = steady(judged, judged.empty, 0.08, 2)
    assert found.verdict == "undecided"
    assert 0.05 < (found.p_above or 0) < 0.95
    finding = Finding.objects.get(zone=judged.empty)
    assert finding.advice
    assert finding.fraction == pytest.approx(0.08 * FACTOR / WHO)


def test_zero_span_and_calibration_are_taken_into_the_value(judged: House) -> None:
    """((raw − zero) / span) · slope + intercept, docs/methods/correction.md: ((0.1 − 0.004) / 1.0) · 0.9."""
    channel = judged.channel
    m.FieldCheck.objects.filter(channel=channel).update(observed=0.004)
    m.Calibration.objects.update(slope=0.9)
    m.FieldCheck.objects.filter(channel=channel).update(reference=0.0)
    found = steady(judged, judged.empty, 0.1, 2)
    assert found.value == pytest.approx((0.1 - 0.004) * 0.9 * FACTOR, rel=1e-9)


def test_warming_up_and_settling_do_not_count(judged: House) -> None:
    """3 × T90 = 90 s from the first reading, at 1 min (docs/methods/flags.md): it and the next do not count."""
    start = make.START + timedelta(hours=2)
    found = steady(judged, judged.empty, 0.05, 2)
    assert datetime.fromisoformat(ends_of(found)[0].at) == start + timedelta(minutes=3)
    assert found.window_start == start  # of equal windows the first is taken
    assert found.reading_count == 28
    assert found.coverage == pytest.approx(27.5 / 30)


def test_the_trace_leads_to_the_lines_of_the_file(judged: House) -> None:
    first, last = ends_of(result_at(judged.high))
    assert first.file == "attic and library.csv"
    assert first.sha256 == judged.upload.sha256
    assert first.line < last.line
    assert first.upload == str(judged.upload.key)


def test_too_short_for_the_limit_is_context_and_not_comparable(judged: House) -> None:
    found = against(judged, "HCHO-HC-8H")
    result = result_at(found.high, "HCHO-HC-8H")
    assert result.verdict == "not_comparable"
    assert result.traced.is_context is True
    assert result.p_above is None
    statement = Finding.objects.get(zone=found.high).statement
    assert statement.startswith("Formaldehyde, mean of the visit: ")
    assert "not comparable. The visit of 90 min is shorter than the 8 h averaged over." in statement


def test_all_below_detection_is_never_a_number_in_words(judged: House) -> None:
    result = steady(judged, judged.empty, 0.001, 2)
    assert result.traced.lower == pytest.approx(0)
    assert result.verdict == "below"
    assert result.traced.upper == pytest.approx(0.005 * FACTOR)  # 0.001 shown, but nothing is seen under 0.005 ppm
    assert "below 0.00614 mg/m³" in Finding.objects.get(zone=judged.empty).statement


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
    rows = [one.row for one in results_of(Known.of(judged.campaign))]
    assert rows == [None, None]


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


def test_a_criterion_removed_takes_its_results_along(judged: House) -> None:
    found = against(judged, "HCHO-WHO10-30M", "HCHO-HC-1H")
    Criterion.objects.get(limit__code="HCHO-HC-1H").delete()
    assert set(Result.objects.values_list("criterion__limit__code", flat=True)) == {"HCHO-WHO10-30M"}
    judge(found.campaign)
    assert Finding.objects.count() == 2


def test_a_later_run_wins_over_an_earlier_one_that_ends_after_it(judged: House) -> None:
    started = timezone.now() - timedelta(minutes=1)
    stale = results_of(Known.of(judged.campaign))
    m.Calibration.objects.update(slope=1.1)
    judge(judged.campaign)
    kept = state(judged.campaign)
    assert keep(judged.campaign, one_each(stale), started) is False
    assert state(judged.campaign) == kept


def test_the_job_says_when_it_was_overtaken(judged: House) -> None:
    Evaluation.objects.update(at=timezone.now() + timedelta(minutes=5))
    job = m.Job.objects.create(
        kind="evaluate", subject_id=judged.campaign.pk, organisation=judged.campaign.site.organisation
    )
    taken = m.Job.take(job.pk)
    assert taken is not None
    assert evaluate_campaign(taken)[:2] == (m.Job.State.SUPERSEDED, "superseded")


def test_an_instrument_with_two_channels_speaks_in_the_unit_of_the_limit(judged: House) -> None:
    """Readings of both channels are held; the one in mg/m³ needs no conversion and is taken, once."""
    make.ChannelSpecFactory(instrument_type=judged.instrument.type, unit="mg/m³", range_high=6.0)
    channel = judged.instrument.channels.get(spec__unit="mg/m³")
    store(judged, channel, make.START, [0.3] * 90)
    judge(judged.campaign)
    result = result_at(judged.high)
    assert result.value == pytest.approx(0.3)
    assert "mg/m³" in result.traced.channel
    judge(judged.campaign)
    assert result_at(judged.high).digest == result.digest


@pytest.mark.parametrize(("right", "speaks"), [(0.020, "left"), (0.400, "right")])
def test_of_two_probes_the_one_of_most_concern_speaks(judged: House, right: float, speaks: str) -> None:
    m.ChannelSpec.objects.update(probe="left")
    make.ChannelSpecFactory(instrument_type=judged.instrument.type, probe="right", range_high=6.0)
    store(judged, judged.instrument.channels.get(spec__probe="right"), make.START, [right] * MINUTES)
    for _ in range(2):
        judge(judged.campaign)
        result = result_at(judged.high)
        assert result.value == pytest.approx(max(right, HIGH) * FACTOR, rel=0.01)
        assert result.traced.channel == f"Formaldehyde in ppm, {speaks}"


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
    high.reach, high.p_not_met = 0.206, 1 - 1e-12
    low.reach, low.p_not_met = 0.190, 1 - 1e-15
    assert governing([low, high]) is high


def test_what_cannot_be_compared_never_hides_what_can(judged: House) -> None:
    small, vast = result_at(judged.low), result_at(judged.high)
    vast.rank, vast.reach = 3, 9.0
    assert governing([vast, small]) is small
    assert small.concern < vast.concern


def test_the_sentence_stands_on_its_own(judged: House) -> None:
    statement = Finding.objects.get(zone=judged.high).statement
    assert statement.startswith("Formaldehyde, worst 30-minute mean: 0.3")
    assert "at Attic studio room, centre, 15 Sep 2026 " in statement
    assert "Against ≤ 0.1 mg/m³ (WHO (Europe) 2010): above limit;" in statement
    assert statement.endswith("the probability that the true value is above the limit is over 99.9 %.")
    assert "safe" not in statement


def test_an_indication_is_called_one(judged: House) -> None:
    found = against(judged, "HCHO-NIOSH-C")
    finding = Finding.objects.get(zone=found.high)
    assert finding.governing.comparability == "indicative"
    assert "above limit" in finding.statement
    assert finding.statement.endswith(
        "As an indication only: A reading in a room only indicates what a worker breathes."
    )
