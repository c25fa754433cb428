"""A result need not come from a deployment: one made by hand, as a laboratory sample will give it, is shown by all."""

from __future__ import annotations

import io
from datetime import timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from campaigns import models as m
from reports.content.record import results_of, zones_of
from reports.models import Finding, Report, Result
from reports.pages.workbook import workbook
from reports.pdf import render
from reports.queries.entered_rows import Entered
from reports.services.freeze import freeze
from reports.services.freezing.agreements import agreed_of
from reports.services.missing import lacks
from reports.services.release import sign_and_release
from tests import factories as make
from tests.api.program import Program
from tests.reports.measured import House, house, judge, work
from tests.reports.pages import Browse, campaign_url, text_of, zone_url
from tests.worlds import World

WORDS = "Sample, analysed in a laboratory"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def sample_at(found: House, point: m.SamplingPoint, value: float, **more: Any) -> Result:
    """What a sample says, as far as it goes: no deployment, no readings, nothing traced."""
    start = make.START + timedelta(hours=30)
    fields: dict[str, Any] = {
        "origin": Result.Origin.SAMPLE, "point": point, "verdict": "below", "value": value, "u": 0.004,
        "unit": "mg/m³", "p_above": 0.0, "p_not_met": 0.0, "rank": 2, "reach": value, "comparability": "yes",
        "window_start": start, "window_end": start + timedelta(minutes=30), "method": "1", "digest": "5a" * 32,
    }  # fmt: skip
    return Result.objects.create(criterion=found.campaign.criteria.get(), **fields | more)


@pytest.fixture
def sample(measured: House) -> Result:
    """In the zone where no instrument stood, and judged with all the rest."""
    made = sample_at(measured, m.SamplingPoint.objects.get(room__zone=measured.empty), 0.043)
    judge(measured.campaign)
    return made


def test_the_database_wants_to_know_where_it_comes_from(measured: House) -> None:
    point = m.SamplingPoint.objects.get(room__zone=measured.empty)
    deployment = make.DeploymentFactory(campaign=measured.campaign, point=point)
    for wrong in ({"origin": "deployment"}, {"deployment": deployment}):
        with pytest.raises(IntegrityError, match="result_names_its_origin"), transaction.atomic():
            sample_at(measured, point, 0.04, **wrong)
    sample_at(measured, point, 0.04)
    sample_at(measured, point, 0.05)  # a duplicate: two samples at one point stand beside each other
    result = Result.objects.filter(deployment__isnull=False)[0]
    with pytest.raises(IntegrityError), transaction.atomic():
        Result.objects.create(
            criterion=result.criterion, deployment=result.deployment, point=result.point, verdict="below",
            comparability="yes", method="1", digest="d",
        )  # fmt: skip


def test_judging_again_keeps_it_and_finds_its_zone(measured: House, sample: Result) -> None:
    judge(measured.campaign)
    assert Result.objects.filter(pk=sample.pk).exists()
    finding = Finding.objects.get(zone=measured.empty)
    assert (finding.governing, finding.verdict) == (sample, "below")
    assert finding.fraction == pytest.approx(0.43)
    assert finding.statement == (
        "Formaldehyde, worst 30-minute mean: 0.0430 ± 0.0078 mg/m³ at Cellar room, centre, 16 Sep 2026 15:00–15:30. "
        "Against ≤ 0.1 mg/m³ (WHO (Europe) 2010): below limit; the probability that the true value is above the limit "
        "is under 0.1 %."
    )
    assert finding.digest != Finding.objects.get(zone=measured.low).digest


def test_the_worst_governs_whatever_it_was_taken_with(measured: House) -> None:
    point = m.SamplingPoint.objects.get(room__zone=measured.low)
    worse = sample_at(measured, point, 0.2, verdict="above", rank=0, p_not_met=1.0, p_above=1.0)
    judge(measured.campaign)
    assert Finding.objects.get(zone=measured.low).governing == worse
    worse.delete()
    judge(measured.campaign)
    assert Finding.objects.get(zone=measured.low).governing.origin == "deployment"
    like = Finding.objects.get(zone=measured.low).governing
    same = {name: getattr(like, name) for name in ("verdict", "rank", "p_not_met", "reach", "p_above")}
    sample_at(measured, point, 0.02, **same)
    judge(measured.campaign)
    assert Finding.objects.get(zone=measured.low).governing == like  # among equals a visit before a sample


@pytest.mark.parametrize("kind", ["enclosed", "outdoor"])
def test_at_a_point_that_governs_no_zone_it_is_no_finding(measured: House, kind: str) -> None:
    place = (
        {"room": measured.empty.rooms.get()} if kind == "enclosed" else {"room": None, "site": measured.campaign.site}
    )
    sample_at(measured, make.PointFactory(name="beside", kind=kind, **place), 0.5)
    judge(measured.campaign)
    assert not Finding.objects.filter(zone=measured.empty).exists()


def test_campaign_zone_and_result_page_show_it(
    measured: House, sample: Result, consultant: m.User, browse: Browse
) -> None:
    browser = browse(consultant)
    campaign = text_of(browser.get(campaign_url(measured.campaign)))
    assert "Cellar room, centre" in campaign
    assert WORDS in campaign
    zone = browser.get(zone_url(measured.campaign, measured.empty))
    assert "Not measured" not in text_of(zone)
    (row,) = zone.context["points"]
    assert row[0] == {"text": "Cellar room, centre", "url": reverse("result", args=[sample.key]), "note": WORDS}
    assert row[1]["text"].replace("\N{NO-BREAK SPACE}", " ") == "0.0430 ± 0.0078"
    assert zone.context["findings"][0][4] == {"text": "Cellar room, centre", "note": WORDS}
    result = text_of(browser.get(reverse("result", args=[sample.key])))
    assert "0.0430 ± 0.0078 mg/m³" in result
    assert f"{WORDS}: no readings of an instrument stand behind this number." in result
    assert "have changed since" not in result


def test_other_pages_of_the_campaign_cope_with_it(
    measured: House, sample: Result, consultant: m.User, browse: Browse
) -> None:
    browser = browse(consultant)
    sample_at(measured, make.PointFactory(room=measured.low.rooms.get(), name="tall cabinet", kind="enclosed"), 0.06)
    for route in ("summaries", "side-by-side"):
        assert browser.get(reverse(route, args=[measured.campaign.key])).status_code == 200
    compared = browser.get(reverse("zone-points", args=[measured.campaign.key, measured.low.key, "formaldehyde"]))
    assert "apart" in text_of(compared)


def test_a_planned_point_with_a_sample_is_not_called_unmeasured(measured: House, sample: Result) -> None:
    assert not [lack for lack in lacks(measured.campaign) if "Cellar room" in " ".join(lack.names)]
    assert {planned.room: planned.sampled for planned in Entered(measured.campaign).planned} == {
        "Attic studio room": False, "Library room": False, "Cellar room": True,
    }  # fmt: skip


def test_the_api_tells_it_without_a_deployment(measured: House, sample: Result, token: m.ApiToken) -> None:
    program = Program(token.secret)  # type: ignore[attr-defined]
    told = program.body(f"results/{sample.key}/")
    assert (told["deployment"], told["point"], told["value"]) == (None, str(sample.point.key), 0.043)
    (finding,) = program.rows("findings/", zone=measured.empty.key)
    assert finding["governing"]["deployment"] is None


def test_the_report_freezes_prints_and_releases_it(
    measured: House, sample: Result, consultant: m.User, browse: Browse, tmp_path: Path
) -> None:
    content = freeze(measured.campaign)
    zone = next(z for z in zones_of(content.buildings) if z.name == measured.empty.name)
    assert zone.measured
    (told,) = [r for r in results_of(content.buildings, content.outdoor) if r.room == "Cellar room"]
    assert told.value == 0.043
    assert (told.chain.instrument, told.chain.serial, told.chain.first) == (WORDS, "", None)
    report = sign_and_release(measured.campaign, consultant)
    work()
    page = text_of(browse(consultant).get(reverse("released-zone", args=[report.key, measured.empty.key])))
    assert f"Instrument {WORDS}" in page
    assert Report.objects.get().pdf.size > 10_000
    assert render(report.record).startswith(b"%PDF")


def test_the_workbook_names_what_it_was_taken_with(measured: House, sample: Result) -> None:
    made = workbook(
        measured.campaign, Result.objects.order_by("pk"), Finding.objects.all(), agreed_of(measured.campaign)
    )
    head, *rows = openpyxl.load_workbook(io.BytesIO(made))["Results"].iter_rows(values_only=True)
    told = [dict(zip(head, row, strict=True)) for row in rows]
    assert [row["instrument"] for row in told if row["value"] == 0.043] == [WORDS]
    assert [row["instrument"] for row in told if row["value"] != 0.043] == ["meter A", "meter A"]
