from __future__ import annotations

import io
from typing import Any

import openpyxl
import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Campaign, User
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
    assert (row["value"], row["U (k = 2)"], row["at line"]) == (0.05, 0.02, 7)
    assert f"{row['window from']:%H:%M}" == "09:00"  # 08:00 UTC is 09:00 summer time in Lisbon (IANA database)


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
