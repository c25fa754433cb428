"""The campaign page: floor plans, its days, and the same question asked before."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from campaigns import models as m
from campaigns.models import Criterion, Limit
from reports.models import Finding, Result
from reports.pages.before_after import _change
from reports.pages.zone_ranking import UNMEASURED
from tests import factories as make
from tests.reports.measured import House, house, judge, measure
from tests.reports.pages import Browse, campaign_url, text_of, zone_url
from tests.tracing import stored_trace
from tests.worlds import World

AFTER = timedelta(days=60)


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    return browse(consultant)


def again(before: House, level: float = 0.03) -> House:
    """The attic studio is measured again two months later, by the same limit."""
    campaign = make.CampaignFactory(
        site=before.campaign.site, name="Winter round", starts_on=date(2026, 12, 1), ends_on=date(2026, 12, 2)
    )
    limit = Criterion.objects.get(campaign=before.campaign).limit
    Criterion.objects.create(campaign=campaign, limit=limit, position=0)
    after = House(campaign, before.high, before.low, before.empty, before.instrument, before.upload)
    measure(after, before.high.rooms.get().points.get(), make.START + AFTER, level, line=500)
    judge(campaign)
    return after


def outline(zone: m.Zone, x: float) -> None:
    room = zone.rooms.get()
    room.outline = [[x, 0], [x + 5, 0], [x + 5, 4], [x, 4]]
    room.save()


# --- floor plans ---


def test_a_drawn_floor_is_filled_by_what_was_measured_and_hatched_where_nothing_was(
    owner: Client, measured: House
) -> None:
    outline(measured.high, 0)
    outline(measured.empty, 5)
    page = owner.get(campaign_url(measured.campaign))
    (plan,) = page.context["plans"]
    looks = {zone.name: zone.look for zone in plan["drawing"].zones}
    assert looks["Attic studio"]["verdict"] == "above"
    assert looks["Cellar"]["measured"] is False
    assert [cell["name"] for cell in plan["undrawn"]] == ["Library"], "what is not drawn is listed, not left out"
    body = page.content.decode()
    assert 'fill="url(#hatch-' in body
    assert zone_url(measured.campaign, measured.high) in body
    assert plan["title"] == "First floor: 2 of 3 zones measured"


def test_whoever_wants_the_section_gets_it(owner: Client, measured: House) -> None:
    outline(measured.high, 0)
    page = owner.get(f"{campaign_url(measured.campaign)}?view=section")
    assert "plans" not in page.context
    assert page.context["sections"]
    assert [current for *_, current in page.context["ways"]] == [False, True]


def test_without_a_drawing_there_is_no_choice_to_make(owner: Client, measured: House) -> None:
    page = owner.get(campaign_url(measured.campaign))
    assert page.context["ways"] == []
    assert page.context["sections"]


# --- days ---


def test_the_days_show_each_deployment_on_its_instruments_strip(owner: Client, measured: House) -> None:
    course = owner.get(campaign_url(measured.campaign)).context["course"]
    (row,) = course["rows"]
    assert row["name"] == "meter A"
    first, second = row["bars"]
    assert "Attic studio room, centre" in first["title"]
    assert first["x"] + first["width"] < second["x"]
    assert course["events"][0][0] == "Logs handed in"


def test_before_anything_is_deployed_there_are_no_days(owner: Client, site: m.Site) -> None:
    assert owner.get(campaign_url(make.CampaignFactory(site=site))).context["course"] is None


# --- before and after ---


def test_before_and_after_stand_side_by_side_with_the_change_and_its_uncertainty(
    owner: Client, measured: House
) -> None:
    after = again(measured)
    for campaign in (measured.campaign, after.campaign):
        comparison = owner.get(campaign_url(campaign)).context["comparison"]
        (row,) = comparison["rows"]
        assert [row[2]["verdict"], row[4]["verdict"]] == ["above", "below"]
        assert row[5]["text"].startswith("−")
        assert comparison["only_once"] == ["Library"]


def test_the_switch_fills_the_building_with_the_other_campaign(owner: Client, measured: House) -> None:
    after = again(measured)
    outline(measured.high, 0)
    url = campaign_url(after.campaign)
    assert [current for *_, current in owner.get(url).context["campaigns"]] == [False, True]
    page = owner.get(f"{url}?shown={measured.campaign.key}")
    (zone,) = page.context["plans"][0]["drawing"].zones
    assert zone.look["verdict"] == "above"
    assert str(measured.campaign.key) in zone.look["url"]
    assert "The building shows Autumn round" in text_of(page)
    assert page.context["tally"] == [("below", "below limit", 1, ""), (UNMEASURED, "", 2, "")], (
        "the counts stay this campaign's"
    )


@pytest.mark.parametrize("key", ["nonsense", "00000000-0000-4000-8000-000000000000"])
def test_a_campaign_that_does_not_repeat_this_one_cannot_be_shown(owner: Client, measured: House, key: str) -> None:
    again(measured)
    assert owner.get(f"{campaign_url(measured.campaign)}?shown={key}").status_code == 404


def test_another_limit_is_another_question(owner: Client, measured: House) -> None:
    after = again(measured)
    Criterion.objects.filter(campaign=after.campaign).update(limit=Limit.objects.get(code="HCHO-HC-1H"))
    assert owner.get(campaign_url(measured.campaign)).context["comparison"] is None


def test_the_uncertainty_of_a_change_joins_both_visits(measured: House) -> None:
    """Root of the sum of squares (JCGM 100, 5.1.2): u 3 and 4 give 5, expanded 9.8."""
    earlier, later = Result(value=100.0, u=3.0, unit="µg/m³"), Result(value=120.0, u=4.0, unit="µg/m³")
    size, cell = _change(earlier, later)
    assert size == 20
    assert cell["text"].replace("\N{NO-BREAK SPACE}", " ") == "+20.0 ± 9.8"
    later.value = 105.0
    assert _change(earlier, later)[1]["note"] == "within its uncertainty"


def test_below_detection_a_change_is_not_determined() -> None:
    found: Any = Result(value=0.006, u=0.002, unit="ppm", trace=stored_trace(lower=0.0, upper=0.01))
    assert _change(found, Result(value=0.2, u=0.01, unit="ppm"))[1] == {"text": "not determined"}


def test_the_page_asks_no_more_when_the_building_is_larger(owner: Client, measured: House) -> None:
    again(measured)
    outline(measured.high, 0)
    judge(measured.campaign)  # no work waits, here or below: work that waits is named, with a query
    url = campaign_url(measured.campaign)
    owner.get(url)
    with CaptureQueriesContext(connection) as small:
        owner.get(url)
    for n in range(3):
        zone = make.ZoneFactory(floor=measured.high.floor, name=f"Zone {n}")
        room = make.RoomFactory(zone=zone, outline=[[10 * n, 9], [10 * n + 5, 9], [10 * n + 5, 12], [10 * n, 12]])
        measure(measured, make.PointFactory(room=room), make.START + timedelta(hours=30 + 2 * n), 0.03, line=900 * n)
    judge(measured.campaign)
    with CaptureQueriesContext(connection) as large:
        owner.get(url)
    assert Finding.objects.filter(criterion__campaign=measured.campaign).count() == 5
    assert len(large) == len(small)
