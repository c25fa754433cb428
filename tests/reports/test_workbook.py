from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import openpyxl
import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Campaign, User
from methods.limits.loader import load
from reports.content.agreements import ReportedAgreed
from reports.models import Finding, Result
from reports.pages.workbook import workbook
from reports.services.freezing.agreements import agreed_of
from tests import factories as make
from tests.agreeing import WORDS, accepted
from tests.tracing import reading_at, stored_trace

NOTHING_AGREED = ReportedAgreed(agreement=None, departures=(), reason="", by="", at="")


@pytest.fixture
def result(organisation: Any) -> Result:
    campaign = make.CampaignFactory(site__organisation=organisation, site__time_zone="Europe/Lisbon")
    deployment = make.DeploymentFactory(campaign=campaign, point__room__name="=1+1", point__name="desk")
    criterion = make.CriterionFactory(campaign=campaign)
    return Result.objects.create(
        criterion=criterion, deployment=deployment, point=deployment.point, verdict="below", value=0.05, u=0.01,
        unit="mg/m³", window_start=make.START, window_end=make.START, comparability="yes", method="1", digest="d",
        trace=stored_trace(first=reading_at(7, file="@evil.csv", sha256="ab")),
    )  # fmt: skip


def cells(content: bytes, sheet: str) -> list[dict[str, Any]]:
    head, *rows = openpyxl.load_workbook(io.BytesIO(content))[sheet].iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


def test_numbers_are_numbers_and_times_are_local(result: Result) -> None:
    (row,) = cells(workbook(result.criterion.campaign, [result], [], NOTHING_AGREED), "Results")
    assert (row["value"], row["at line"]) == (0.05, 7)
    assert f"{row['window from (Europe/Lisbon)']:%H:%M}" == "09:00"


def results_of(result: Result) -> dict[str, Any]:
    (row,) = cells(workbook(result.criterion.campaign, [result], [], NOTHING_AGREED), "Results")
    return row


def test_u_is_that_of_the_pages(result: Result) -> None:
    """t for 95 %, two-sided: 1.960 where u is well known, 2.776 with 4 degrees of freedom (JCGM 100, table G.2)."""
    row = results_of(result)
    assert row["U"] == pytest.approx(0.0196, abs=1e-5)
    assert (row["ν of u (empty: over 1,000)"], row["result as printed"]) == (None, "0.050 ± 0.020 mg/m³")
    result.dof = 4
    row = results_of(result)
    assert (row["U"], row["k = U/u"], row["ν of u (empty: over 1,000)"]) == (
        pytest.approx(0.02776, abs=1e-5), pytest.approx(2.776, abs=1e-3), 4,
    )  # fmt: skip


def test_below_detection_is_no_number(result: Result) -> None:
    result.trace = stored_trace(lower=0.0, upper=0.0123)
    result.value = 0.00615
    row = results_of(result)
    assert (row["< or ≥"], row["value"], row["U"], row["below detection, under"]) == ("<", None, None, 0.0123)


def test_what_weakens_a_result_has_columns(result: Result) -> None:
    row = results_of(result)
    assert (row["indication"], row["field check"], row["calibration"]) == (None, None, "no calibration on record")
    result.comparability, result.evidence = "indicative", Result.Evidence.FAILED
    assert result.deployment
    channel = result.deployment.instrument.channels.get()
    channel.spec.parameter = result.criterion.limit.parameter
    channel.spec.save()
    day = make.START.date()
    m.Calibration.objects.create(channel=channel, date=day - timedelta(400), due=day - timedelta(35), certificate="C-1")
    row = results_of(result)
    assert row["indication"] == "an indication"
    assert row["field check"] == "rests on a failed check"
    assert row["calibration"] == f"calibration overdue since {day - timedelta(35)}"
    m.Calibration.objects.create(channel=channel, date=day - timedelta(3), due=day + timedelta(35), certificate="C-2")
    assert results_of(result)["calibration"] is None


def finding_of(result: Result, verdict: str, fraction: float | None) -> dict[str, Any]:
    zone = result.point.room.zone if result.point.room else None
    finding = Finding(
        criterion=result.criterion, zone=zone, governing=result, verdict=verdict, fraction=fraction, statement="s"
    )
    (row,) = cells(workbook(result.criterion.campaign, [], [finding], NOTHING_AGREED), "Findings")
    return row


def test_what_is_not_compared_is_no_fraction_of_the_limit(result: Result) -> None:
    assert finding_of(result, "below", 0.5)["fraction of the limit"] == 0.5
    assert finding_of(result, "not_comparable", 0.5)["fraction of the limit"] is None


@pytest.mark.parametrize("rule", ["above_outdoor", "outdoor_subtracted"])
def test_without_the_outdoor_value_taken_off_there_is_no_fraction(result: Result, rule: str) -> None:
    code = next(limit.code for limit in load().values() if limit.outdoor_rule == rule)
    result.criterion = make.CriterionFactory(
        campaign=result.criterion.campaign, limit=m.Limit.objects.get(code=code), position=1
    )
    assert finding_of(result, "below", 0.5)["fraction of the limit"] is None


def test_points_that_were_not_measured_are_rows(result: Result) -> None:
    campaign = result.criterion.campaign
    planned = make.PointFactory(room__zone__floor__building__site=campaign.site, room__name="Loft", name="sill")
    m.PlannedPoint.objects.create(campaign=campaign, point=planned)
    (row,) = cells(workbook(campaign, [result], [], NOTHING_AGREED), "Not measured")
    assert (row["room"], row["point"], row["why"]) == ("Loft", "sill", "planned, not visited")


def test_text_cannot_run(result: Result) -> None:
    (row,) = cells(workbook(result.criterion.campaign, [result], [], NOTHING_AGREED), "Results")
    assert row["point"] == "'=1+1, desk"
    assert row["first reading in file"] == "'@evil.csv"


def test_staff_get_it_and_strangers_do_not(
    result: Result, consultant: User, stranger: User, client_person: User, browse: Any
) -> None:
    url = reverse("results-workbook", args=[result.criterion.campaign.key])
    assert browse(consultant).get(url).status_code == 200
    assert browse(stranger).get(url).status_code == 404
    assert browse(client_person).get(url).status_code == 404


def test_a_campaign_without_results_has_empty_sheets(organisation: Any) -> None:
    campaign: Campaign = make.CampaignFactory(site__organisation=organisation)
    made = workbook(campaign, [], Finding.objects.none(), NOTHING_AGREED)
    book = openpyxl.load_workbook(io.BytesIO(made))
    assert book.sheetnames == ["Findings", "Results", "Agreed"]
    assert [row["agreed"] for row in cells(made, "Agreed")] == ["none on record"]


def test_a_sheet_says_what_was_agreed_and_what_differs(result: Result) -> None:
    campaign = result.criterion.campaign
    m.PlannedPoint.objects.create(campaign=campaign, point=result.point)
    accepted(campaign, undecided="=1+1")
    campaign.level_above = 0.9
    campaign.save()
    rows = {row["item"]: row for row in cells(workbook(campaign, [result], [], agreed_of(campaign)), "Agreed")}
    assert rows["question"]["agreed"] == WORDS["question"]
    assert rows["undecided leads to"]["agreed"] == "'=1+1"
    assert "WHO" in rows["limit"]["agreed"]
    assert (rows["Called above from"]["agreed"], rows["Called above from"]["differs, now"]) == ("95 %", "90 %")
