"""A campaign looked over: guideline sets side by side, and summaries of groups with results below detection."""

from __future__ import annotations

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from campaigns import models as m
from methods.limits.sets import sets
from methods.nondetects.summaries import Method, Summary, summarise
from reports.models import Result
from reports.pages.group_summaries import value_of
from tests import factories as make
from tests.reports.judging import FACTOR, steady
from tests.reports.measured import House, house, judge
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    """A dwelling guideline, an acceptance threshold that wants the outdoor value, a workplace limit."""
    found = house(world.site, limits=("HCHO-WHO10-30M", "HCHO-CN-50325-I", "HCHO-NIOSH-C"))
    found.low.place_kind = "dwelling"
    found.low.save()
    judge(found.campaign)
    return found


@pytest.fixture
def three(own_world: World) -> House:
    built: House = own_world.built
    return built


def url(route: str, found: House) -> str:
    return reverse(route, args=[found.campaign.key])


# --- side by side -----------------------------------------------------------------------------------------------------


def test_each_criterion_keeps_its_own_unit_time_and_terms(three: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(url("side-by-side", three))
    groups, rows = page.context["groups"], page.context["rows"]
    assert [(g.body, g.kind) for g in groups] == [
        ("WHO (Europe)", "For people in buildings"),
        ("China (GB 50325)", "Voluntary schemes and acceptance tests"),
        ("NIOSH", "For workers"),
    ]
    assert [c.value for g in groups for c in g.columns] == ["≤ 0.1 mg/m³", "≤ 0.07 mg/m³", "≤ 0.1 ppm"]
    by_zone = {row.zone.name: row.cells for row in rows}
    assert by_zone[three.empty.name] == [{}, {}, {}]
    assert [cell["verdict"] for cell in by_zone[three.high.name]] == ["above", "not_comparable", "above"]
    assert [cell["unit"] for cell in by_zone[three.high.name]] == ["mg/m³", "mg/m³", "ppm"]
    assert by_zone[three.low.name][2]["verdict"] == "not_comparable", "a workplace limit says nothing of a dwelling"
    text = text_of(page)
    assert "not measured" in text
    assert "The limit is about workers, which this place is not measured for." in text
    assert "It was not measured outdoors in this campaign." in text
    assert "Exposure at work is judged from samples worn by the person" in text


def test_more_zones_take_no_more_queries(three: House, consultant: m.User, browse: Browse) -> None:
    client = browse(consultant)
    client.get(url("side-by-side", three))
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(
            connection,
        ) as queries:
            client.get(url("side-by-side", three))
        counts.append(len(queries))
        make.ZoneFactory.create_batch(5, floor=three.high.floor)
    assert counts[0] == counts[1]


def test_without_criteria_it_says_what_to_do(site: m.Site, consultant: m.User, browse: Browse) -> None:
    campaign = make.CampaignFactory(site=site)
    assert "Choose criteria first" in text_of(browse(consultant).get(reverse("side-by-side", args=[campaign.key])))
    assert "No criterion has been chosen" in text_of(browse(consultant).get(reverse("summaries", args=[campaign.key])))


def test_a_whole_set_is_taken_at_once(site: m.Site, consultant: m.User, browse: Browse) -> None:
    campaign = make.CampaignFactory(site=site)
    add = reverse("criterion-add", args=[campaign.key])
    browse(consultant).post(add, {"limit_set": "osha-hcho"})
    browse(consultant).post(add, {"limit_set": "who-indoor", "parameters": ["formaldehyde", "no2"]})
    chosen = [criterion.limit.code for criterion in campaign.criteria.select_related("limit")]
    expected = [*sets()["osha-hcho"].members, *sets()["who-indoor"].of({"formaldehyde", "no2"}, campaign.starts_on)]
    assert chosen == [limit.code for limit in expected]
    wrong = browse(consultant).post(add, {"limit_set": "castle"})
    assert wrong.status_code == 422
    assert wrong.context["whole"].errors["limit_set"]


# --- summaries --------------------------------------------------------------------------------------------------------


def test_three_methods_stand_side_by_side_with_their_conventions(
    three: House, consultant: m.User, browse: Browse
) -> None:
    """Six rooms of one zone, two of them below detection: the page prints what the pure methods give."""
    for n, level in enumerate([0.001, 0.030, 0.001, 0.045, 0.060, 0.025]):
        steady(three, three.empty, level, 8 + 2 * n, name=f"point {n}")
    page = browse(consultant).get(url("summaries", three))
    results = Result.objects.filter(point__room__zone=three.empty, criterion__limit__code="HCHO-WHO10-30M")
    found = [value_of(result) for result in results.order_by("deployment__starts_at")]
    assert [one.below for one in found] == [True, False, True, False, False, False]
    assert found[0].value == pytest.approx(0.005 * FACTOR), "the detection limit, not what was read"
    values, below = np.array([one.value for one in found]), np.array([one.below for one in found])
    zones = next(g for g in page.context["told"].groupings if g.name.startswith("Zone"))
    printed = {row[0]["note"]: row for row in zones.rows if row[0]["text"] == three.empty.name}
    for method, name in (
        (Method.KAPLAN_MEIER, "Kaplan–Meier"),
        (Method.ROS, "Regression on order statistics"),
        (Method.MLE, "Lognormal likelihood"),
    ):
        summary = summarise(values, below, method)
        assert isinstance(summary, Summary)
        assert printed[name][1:3] == ["6", "2"]
        assert float(printed[name][3]["text"]) == pytest.approx(summary.mean, rel=0.01)
        assert summary.convention in text_of(page)


def test_groups_that_carry_no_summary_say_why(three: House, consultant: m.User, browse: Browse) -> None:
    for n in range(2):
        steady(three, three.empty, 0.001, 8 + 2 * n, name=f"point {n}")
    page = browse(consultant).get(url("summaries", three))
    zones = next(g for g in page.context["told"].groupings if g.name.startswith("Zone"))
    refused = dict(zones.refused)
    assert refused[three.empty.name].startswith("All results are below detection: report “< 0.0061")
    assert refused[three.high.name].startswith("Only one result was measured")
    assert not any(row[0]["text"] == three.empty.name for row in zones.rows)
