"""Quality control through the whole pipeline: from stored readings to the table on pages and in the report."""

from __future__ import annotations

import io
import json
from math import sqrt
from pathlib import Path
from typing import Any

import numpy as np
import openpyxl
import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.models import AcceptanceLimit, Job
from campaigns.pages.chosen_criteria import chosen_of
from campaigns.services import acceptance_limits, quality_runs
from methods.quality.acceptance import MEASURES
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.queries import placement_of
from readings.services.timeline.picture import drawn, picture
from reports.content.upgrades import FORMAT, upgraded
from reports.job_kinds import EVALUATE
from reports.models import Evaluation, Result
from reports.pages import group_summaries
from reports.pages.workbook import workbook
from reports.pdf import render
from reports.services.freeze import freeze
from reports.services.freezing.agreements import agreed_of
from reports.services.quality.measured import quality_of
from reports.services.quality.table import CHART, quality_rows
from reports.services.quality.told import QualityTold
from reports.services.readiness import prepare
from reports.trace.quality import NOTHING_MEASURED, QUALITY, read_quality
from tests import factories as make
from tests.reports.measured import House, judge
from tests.reports.quality_house import HOUR, ZERO_AT, at, beside, duplicate, quality_house, zero
from tests.reports.signing import signed_content
from tests.reports.test_pdf import squeezed, text_of

NOISY = np.round(0.004 * np.random.default_rng(5).standard_normal(40), 4)


@pytest.fixture
def pair(site: m.Site) -> tuple[House, m.Instrument]:
    return quality_house(site)


def row_of(told: QualityTold, code: str) -> Any:
    (row,) = [row for row in told.rows if row.measure == MEASURES[code].name]
    return row


def judged(found: House) -> QualityTold:
    judge(found.campaign)
    return QualityTold.of(m.Campaign.objects.get(pk=found.campaign.pk))


def test_a_run_of_two_meters_is_measured(pair: tuple[House, m.Instrument]) -> None:
    found, other = pair
    run = beside(found, other, 0.02)
    acceptance_limits.put(found.campaign, {"bias": 5.0, "between": 50.0}, None)
    told = judged(found)
    (measured,) = told.measured.beside
    assert (measured.run, measured.parameter, measured.unit) == (str(run.key), "formaldehyde", "ppm")
    assert [meter.meter for meter in measured.meters] == ["meter A", "meter B"]
    # the whole difference: against their median, which is their mean, each would seem half of it away
    assert [meter.bias for meter in measured.meters] == pytest.approx([-0.02, 0.02], abs=0.001)
    assert measured.between == pytest.approx(0.02 / sqrt(2), rel=0.05)
    bias, between = row_of(told, "bias"), row_of(told, "between")
    assert (bias.outcome, between.outcome) == ("failed", "passed")
    assert abs(bias.percent) == pytest.approx(100 * 0.02 / 0.11, abs=1.0)
    assert "against meter" in bias.about
    assert told.rows[0] == bias  # what failed comes first


def test_readings_of_a_run_count_into_no_room(pair: tuple[House, m.Instrument]) -> None:
    found, other = pair
    before = list(Result.objects.order_by("pk").values_list("value", "reading_count"))
    beside(found, other, 0.02)
    zero(found, found.instrument, NOISY)
    judge(found.campaign)
    assert list(Result.objects.order_by("pk").values_list("value", "reading_count")) == before


def test_a_new_run_asks_for_judging_and_changes_digest_and_budget(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    judge(found.campaign)
    before = dict(Result.objects.values_list("pk", "digest"))
    run = zero(found, found.instrument, NOISY)
    assert Job.objects.filter(kind=EVALUATE, subject_id=found.campaign.pk, state=Job.State.QUEUED).exists()
    judge(found.campaign)
    results = list(Result.objects.all())
    assert all(before[result.pk] != result.digest for result in results)
    sources = [part.source for result in results for part in result.budget_parts if "noise" in part.name]
    assert len(sources) == len(results)
    assert all("this meter in zero air, 4" in source or "this meter in zero air, 3" in source for source in sources)
    quality_runs.remove(run)
    judge(found.campaign)
    assert dict(Result.objects.values_list("pk", "digest")) == before  # and is gone with it


def test_a_run_without_noise_leaves_the_other_evidence(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    zero(found, found.instrument, np.zeros(30))
    told = judged(found)
    assert not any("zero air" in p.source for result in Result.objects.all() for p in result.budget_parts)
    (measured,) = told.measured.zeros
    assert measured.rule == "step"
    assert measured.limit == found.channel.spec.resolution


def test_the_detection_limit_of_a_meter(pair: tuple[House, m.Instrument]) -> None:
    """t(0.99, n − 1)·s of the run's own readings; the share is of the lowest limit, in the unit of the channel."""
    found, _ = pair
    zero(found, found.instrument, NOISY)
    acceptance_limits.put(found.campaign, {"detection": 1.0}, None)
    told = judged(found)
    (measured,) = told.measured.zeros
    assert measured.limit == pytest.approx(2.43 * (measured.s or 0), rel=0.02)  # t(0.99, 37…39): 2.43
    assert measured.s == pytest.approx(float(NOISY.std(ddof=1)), rel=0.1)
    assert "0.1 mg/m³" in measured.against
    # 0.1 mg/m³ of formaldehyde at 25 °C: 0.08148 ppm (U-07)
    assert measured.share == pytest.approx((measured.limit or 0) / 0.08148, rel=1e-3)
    assert row_of(told, "detection").outcome == "failed"


def test_the_larger_detection_limit_is_judged_and_both_are_told(pair: tuple[House, m.Instrument]) -> None:
    """0.01 ppm stated of 0.08148 ppm (U-07) are 12.3 %; a quiet run of 0.001 ppm would pass 5 %."""
    found, _ = pair
    m.ChannelSpec.objects.filter(pk=found.channel.spec_id).update(detection_limit=0.01, resolution=0.001)
    zero(found, found.instrument, np.zeros(30))
    acceptance_limits.put(found.campaign, {"detection": 5.0}, None)
    told = judged(found)
    row = row_of(told, "detection")
    assert (row.outcome, row.percent) == ("failed", pytest.approx(12.27, abs=0.01))
    assert "0.001 ppm in its zero air, its maker states 0.01 ppm: the maker's counts, as the larger" in row.about
    m.ChannelSpec.objects.filter(pk=found.channel.spec_id).update(detection_limit=0.0002)
    row = row_of(judged(found), "detection")
    assert (row.outcome, row.percent) == ("passed", pytest.approx(1.227, abs=0.001))
    assert "its own counts" in row.about


def test_two_instruments_that_contradict_each_other_are_told_everywhere(
    pair: tuple[House, m.Instrument], consultant: m.User, browse: Any
) -> None:
    found, other = pair
    m.FieldCheck.objects.create(channel=other.channels.get(), kind="zero", at=make.START, reference=0, observed=0)
    duplicate(found, other, 0.10, 0.40)
    told = judged(found)
    (sentence,) = told.disagreements
    assert "meter A" in sentence
    assert "further apart than both uncertainties allow" in sentence
    client = browse(consultant)
    for route, keys in (("campaign", []), ("quality", []), ("zone", [found.high.key])):
        page = client.get(reverse(route, args=[found.campaign.key, *keys])).content.decode()
        assert "further apart than both uncertainties allow" in page, route
    quiet = client.get(reverse("zone", args=[found.campaign.key, found.low.key])).content.decode()
    assert "further apart" not in quiet
    (reported,) = freeze(found.campaign).quality.disagreements
    assert (reported.zone, reported.sentence) == (str(found.high.key), sentence)
    assert "apart" in {item.code for item in prepare(found.campaign).advisory}


def test_duplicates_that_agree_are_pairs_and_no_problem(pair: tuple[House, m.Instrument]) -> None:
    found, other = pair
    for k, (first, second) in enumerate(((0.100, 0.104), (0.200, 0.196), (0.150, 0.156))):
        duplicate(found, other, first, second, hours=12 + 2 * k)
    acceptance_limits.put(found.campaign, {"difference": 3.0, "variation": 30.0}, None)
    told = judged(found)
    assert not told.disagreements
    (together,) = told.measured.together
    assert together.n == 3
    assert together.largest == pytest.approx(-0.0392, abs=0.001)  # (0.150 − 0.156)/0.153, and 4 % of the first pair
    assert row_of(told, "difference").outcome == "failed"
    assert row_of(told, "variation").outcome == "passed"


def test_a_failed_duplicate_is_told_beside_the_finding_of_its_zone(
    pair: tuple[House, m.Instrument], consultant: m.User, browse: Any
) -> None:
    """0.100 and 0.104 differ by 3.92 % of their mean, well within both uncertainties."""
    found, other = pair
    duplicate(found, other, 0.100, 0.104)
    acceptance_limits.put(found.campaign, {"difference": 3.0}, None)
    told = judged(found)
    assert not told.disagreements
    (sentence,) = told.unlike
    assert "differ by 3.92 % of the mean of the two, which fails the acceptance limit of at most 3 %" in sentence
    client = browse(consultant)
    for route, keys in (("campaign", []), ("zone", [found.high.key])):
        page = client.get(reverse(route, args=[found.campaign.key, *keys])).content.decode()
        assert "which fails the acceptance limit of at most 3 %" in page, route
    quiet = client.get(reverse("zone", args=[found.campaign.key, found.low.key])).content.decode()
    assert "fails the acceptance limit" not in quiet
    (reported,) = freeze(found.campaign).quality.disagreements
    assert (reported.zone, reported.sentence) == (str(found.high.key), sentence)


def test_duplicates_count_once_in_summaries_of_groups(pair: tuple[House, m.Instrument]) -> None:
    """Both instruments stand in the attic for an hour: the mean of the two counts, as one."""
    found, other = pair
    judge(found.campaign)
    campaign = m.Campaign.objects.get(pk=found.campaign.pk)
    alone = group_summaries.told(campaign, chosen_of(campaign)[0])
    duplicate(found, other, 0.100, 0.200)
    judge(campaign)
    after = group_summaries.told(campaign, chosen_of(campaign)[0])
    assert (alone.duplicates, after.duplicates) == (0, 1)
    both = Result.objects.filter(deployment__starts_at=at(12)).values_list("value", flat=True)
    assert len(both) == 2
    rows = Result.objects.select_related("deployment", "point").order_by("pk")
    merged = group_summaries.once_each(rows)
    assert len(merged) == Result.objects.count() - 1
    assert merged[-1].value == pytest.approx(np.mean(list(both)))


def test_how_complete_it_is(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    acceptance_limits.put(found.campaign, {"points": 90.0, "time": 50.0}, None)
    told = judged(found)
    (complete,) = told.measured.complete
    assert (complete.points, complete.planned_points) == (2, 3)  # the cellar was planned and not measured
    assert complete.planned_h == pytest.approx(3.0)
    assert 2.5 < complete.valid_h <= 3.0
    assert row_of(told, "points").outcome == "failed"
    assert row_of(told, "time").outcome == "passed"


def test_a_control_chart_needs_history_and_names_what_lies_outside(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    (chart,) = judged(found).measured.charts
    assert chart.why == "2 of at least 8 checks are there"
    for days in range(1, 11):
        at = make.START - days * 24 * HOUR
        m.FieldCheck.objects.create(channel=found.channel, kind="zero", at=at, reference=0, observed=0.001 * (days % 2))
    m.FieldCheck.objects.create(channel=found.channel, kind="zero", at=make.START + HOUR, reference=0, observed=0.3)
    told = judged(found)
    (chart,) = told.measured.charts
    assert [point.value for point in chart.points if point.outside] == [0.3]
    (row,) = [row for row in told.rows if row.measure == CHART]
    assert row.outcome == "failed"
    assert "meter A, zero check of 2026-09-15" in row.about


def test_the_largest_change_of_the_zero(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    m.FieldCheck.objects.create(channel=found.channel, kind="zero", at=make.START + HOUR, reference=0, observed=0.01)
    acceptance_limits.put(found.campaign, {"zero_drift": 10.0}, None)
    told = judged(found)
    (drift,) = told.measured.drifts
    assert abs(drift.change) == pytest.approx(0.01)
    assert abs(drift.share or 0) == pytest.approx(0.01 / 0.08148, rel=1e-3)
    assert row_of(told, "zero_drift").outcome == "failed"


def test_a_limit_without_data_is_not_assessed_and_one_set_late_says_so(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    AcceptanceLimit.objects.create(campaign=found.campaign, measure="bias", percent=4.0, set_at=make.START - 24 * HOUR)
    acceptance_limits.put(found.campaign, {"bias": 40.0}, None)
    row = row_of(QualityTold.of(found.campaign), "bias")
    assert (row.outcome, row.why) == ("not_assessed", "no side-by-side run is entered")
    assert row.late
    assert "set after measuring began; agreed before: at most 4 %" in row.set_when


def test_without_anything_there_is_no_row(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    assert quality_rows(NOTHING_MEASURED, {}, found.campaign.site.zone_info) == ()
    Evaluation.objects.update(quality={"format": 0})
    assert quality_of(found.campaign) == NOTHING_MEASURED


def test_what_is_kept_is_read_again(pair: tuple[House, m.Instrument]) -> None:
    found, other = pair
    beside(found, other, 0.01)
    measured = judged(found).measured
    assert read_quality(json.loads(QUALITY.text(measured))) == measured


def test_report_workbook_and_readiness_tell_what_failed(
    pair: tuple[House, m.Instrument], consultant: m.User, browse: Any
) -> None:
    found, other = pair
    beside(found, other, 0.05)
    acceptance_limits.put(found.campaign, {"bias": 5.0}, consultant)
    judge(found.campaign)
    content = freeze(found.campaign)
    assert content.quality.rows[0].word == "failed"
    assert content.format == FORMAT
    book = openpyxl.load_workbook(io.BytesIO(workbook(found.campaign, [], [], agreed_of(found.campaign))))
    assert [cell.value for cell in book["Quality control"][2]][:3] == [
        "Bias of a meter side by side", "Formaldehyde", "failed",
    ]  # fmt: skip
    head, first = book["Quality control"][1], book["Quality control"][2]
    (percent,) = [cell for label, cell in zip(head, first, strict=True) if label.value == "per cent"]
    assert percent.value == content.quality.rows[0].percent  # a number, whose format writes the sign
    assert percent.number_format.startswith("+")
    assert not any(str(cell.value or "").startswith("'") for cell in first)
    (item,) = [item for item in prepare(found.campaign).advisory if item.code == "quality"]
    assert "Bias of a meter side by side, Formaldehyde" in item.names[0]
    page = browse(consultant).get(reverse("campaign", args=[found.campaign.key])).content.decode()
    assert "✕ failed" in page
    details = browse(consultant).get(reverse("quality", args=[found.campaign.key])).content.decode()
    assert "Side by side, the van" in details


def test_a_report_of_the_format_before_says_nothing_of_quality_control() -> None:
    assert upgraded({"format": 8}, newest=9)["quality"] == {"rows": [], "disagreements": [], "detection": []}


def test_the_pdf_prints_the_table_and_the_problem(pair: tuple[House, m.Instrument], tmp_path: Path) -> None:
    found, other = pair
    m.FieldCheck.objects.create(channel=other.channels.get(), kind="zero", at=make.START, reference=0, observed=0)
    beside(found, other, 0.05)
    zero(found, found.instrument, NOISY)
    duplicate(found, other, 0.10, 0.40)
    acceptance_limits.put(found.campaign, {"bias": 5.0, "span_drift": 4.0}, None)
    judge(found.campaign)
    text = squeezed(text_of(render(signed_content(freeze(found.campaign))), tmp_path))
    assert "Quality control" in text
    assert "further apart than both uncertainties allow" in text
    for words in ("Bias of a meter", "failed", "assessed", "span checks", "measuring", "agreed"):
        assert words in text  # in the columns of a table lines end anywhere
    assert "Detection limit in zero air: meter A" in text


def test_upload_and_timeline_know_what_lies_in_a_run(pair: tuple[House, m.Instrument]) -> None:
    found, other = pair
    zero(found, other, NOISY)
    upload = Upload.objects.get(instrument=other)
    upload.first_stamp_ms, upload.last_stamp_ms = utc_ms(at(ZERO_AT)), utc_ms(at(ZERO_AT + 1))
    upload.save()
    placement = placement_of(upload)
    assert (placement.lines, placement.in_runs, placement.unplaced) == (40, 40, 0)
    channel = m.Channel.objects.select_related("spec", "instrument__type").get(instrument=other)
    seen = picture(found.campaign, other, channel)
    assert not seen.outside
    assert [band["name"] for band in drawn(seen)["elsewhere"]] == ["Zero air"]
    quality_runs.remove(m.QualityRun.objects.get())
    assert placement_of(upload).unplaced == 40
    assert picture(found.campaign, other, channel).outside


def test_when_limits_were_set_is_said_once_under_the_table(
    pair: tuple[House, m.Instrument], consultant: m.User, browse: Any
) -> None:
    found, _ = pair
    acceptance_limits.put(found.campaign, {"bias": 5.0, "points": 90.0, "time": 50.0}, consultant)
    judge(found.campaign)
    page = browse(consultant).get(reverse("campaign", args=[found.campaign.key])).content.decode()
    assert page.count("none was agreed before") == 1
    assert "All acceptance limits: " in page


def test_what_is_counted_anyway_fills_no_page_without_a_limit(
    pair: tuple[House, m.Instrument], consultant: m.User, browse: Any
) -> None:
    found, _ = pair
    told = judged(found)
    assert {row.outcome for row in told.rows} == {"not_assessed"}
    assert told.in_short == ()
    assert freeze(found.campaign).quality.rows == ()
    page = browse(consultant).get(reverse("campaign", args=[found.campaign.key])).content.decode()
    assert f"{len(told.rows)} more about drift and completeness" in page
    acceptance_limits.put(found.campaign, {"points": 90.0}, None)
    assert [row.word for row in freeze(found.campaign).quality.rows] == ["failed"]
