"""Floor plans in a released report: as they were when it was signed; and what the client is told is needed."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.services.drawings import drawings_of
from methods.wording.summary import ZoneVerdict, needs
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests import factories as make
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

BOX = [[0, 0], [6, 0], [6, 4], [0, 4]]


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    m.Room.objects.filter(zone=measured.high).update(outline=BOX)
    m.Room.objects.filter(zone=measured.empty).update(outline=[[x + 6, y] for x, y in BOX])
    return sign_and_release(measured.campaign, consultant)


def drawing_seen(browse: Browse, reader: m.User, report: Report) -> Any:
    page = browse(reader).get(reverse("released-report", args=[report.key]))
    (plan,) = page.context["plans"]
    return plan


def test_the_client_sees_the_drawn_floor_filled_or_hatched(
    browse: Browse, client_person: m.User, released: Report
) -> None:
    plan = drawing_seen(browse, client_person, released)
    looks = {zone.name: zone.look for zone in plan["drawing"].zones}
    assert looks["Attic studio"]["verdict"] == "above"
    assert not looks["Cellar"]["measured"]
    assert looks["Attic studio"]["url"].startswith(f"/findings/{released.key}/")
    assert [cell["name"] for cell in plan["undrawn"]] == ["Library"]


def test_a_room_drawn_otherwise_later_changes_nothing_released(
    browse: Browse, client_person: m.User, released: Report, measured: House
) -> None:
    before = drawing_seen(browse, client_person, released)["drawing"]
    m.Room.objects.filter(zone=measured.high).update(outline=[[0, 0], [9, 0], [9, 9]])
    assert drawing_seen(browse, client_person, released)["drawing"] == before
    assert freeze(measured.campaign).buildings != released.record.buildings


def test_no_room_is_kept_for_a_point_on_the_lawn(measured: House, released: Report) -> None:
    """It is drawn on the plan of the floor, not where zones are coloured."""
    floor, site = measured.high.floor, measured.campaign.site
    make.PointFactory(room=None, site=site, kind="outdoor", name="lawn", beside=floor, x_m=6.0, y_m=-40.0)
    assert freeze(measured.campaign).buildings == released.record.buildings
    frames = [drawings_of([floor], with_points=points)[floor.pk].height for points in (False, True)]
    assert frames[0] < 5 < 40 < frames[1]


def test_the_section_is_there_for_whoever_asks(browse: Browse, client_person: m.User, released: Report) -> None:
    page = browse(client_person).get(reverse("released-report", args=[released.key]) + "?view=section")
    assert "plans" not in page.context
    assert page.context["sections"]


def test_a_report_without_any_drawing_shows_the_section(
    browse: Browse, client_person: m.User, consultant: m.User, measured: House
) -> None:
    released = sign_and_release(measured.campaign, consultant)
    assert [floor.drawing for building in released.record.buildings for floor in building.floors] == [None]
    page = browse(client_person).get(reverse("released-report", args=[released.key]))
    assert page.context["sections"]
    assert "ways" not in page.context
    assert "plans" not in page.context


def test_what_needs_something_is_said_in_one_line(browse: Browse, client_person: m.User, released: Report) -> None:
    page = browse(client_person).get(reverse("released-report", args=[released.key]))
    assert "1 zone needs action (Attic studio); 1 zone was not measured (Cellar)." in text_of(page)


def test_where_every_zone_meets_the_limit_nothing_is_needed() -> None:
    zones = [ZoneVerdict(name, "below", "below limit", met=True) for name in ("A", "B")]
    assert needs(zones) == ""
    zones[1] = ZoneVerdict("B", "undecided", "undecided", met=None)
    assert needs(zones) == "1 zone needs another measurement (B)."
