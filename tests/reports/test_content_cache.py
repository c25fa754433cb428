"""Pieces of a released report: together they are the content, each page's copy is its own, and none outlives it."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields, replace

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from reports.content.canonical import digest
from reports.content.places import ReportedBuilding, ReportedFloor, ReportedZone
from reports.content.stored import digest_of
from reports.models import Report
from reports.pages import content_cache
from reports.pages.report_overview import finding_in_short
from reports.services.release import sign_and_release
from tests.database import unguarded
from tests.reports.measured import house
from tests.worlds import World, a_consultant

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> Report:
    campaign = house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H")).campaign
    world.consultant = a_consultant(world.organisation)
    return sign_and_release(campaign, world.consultant)


@pytest.fixture
def released(own_world: World) -> Report:
    built: Report = own_world.built
    return built


def alone(report: Report, key: str) -> ReportedZone:
    zone = content_cache.zone_alone(report, key)
    assert zone is not None
    return zone


def test_frame_and_zones_together_are_the_content(released: Report) -> None:
    overview = content_cache.whole_against(released, None)
    buildings = (
        ReportedBuilding(
            building.name,
            tuple(
                ReportedFloor(f.name, f.level, tuple(alone(released, zone.key) for zone in f.zones), f.drawing)
                for f in building.floors
            ),
        )
        for building in overview.buildings
    )
    assert digest_of(replace(content_cache.frame_of(released), buildings=tuple(buildings))) == released.digest


@pytest.mark.parametrize("ref", ["C1", "C2"])
def test_against_one_limit_each_zone_has_that_finding(released: Report, ref: str) -> None:
    shown = {zone.key: zone.finding for zone in content_cache.whole_against(released, ref).zones}
    assert len(shown) == 3
    for zone in released.record.zones:
        assert shown[zone.key] == finding_in_short(zone.against(ref))


def test_what_is_shown_of_a_finding_is_what_was_signed(released: Report) -> None:
    signed = next(zone.against("C1") for zone in released.record.zones if zone.name == "Library")
    short = finding_in_short(signed)
    assert signed.result is not None
    assert short.result is not None
    same = {field.name for field in fields(short)} - {"result"}
    assert {name: getattr(short, name) for name in same} == {name: getattr(signed, name) for name in same}
    same = {field.name for field in fields(short.result)} - {"where"}
    said = {name: getattr(signed.result, name) for name in same}
    assert {name: getattr(short.result, name) for name in same} == said
    assert short.result.where == "Library room, centre"


def test_no_page_can_change_what_another_one_reads(released: Report) -> None:
    zone = alone(released, released.record.zones[0].key)
    for piece, field in ((content_cache.frame_of(released), "client"), (zone, "name"), (zone.findings[0], "word")):
        with pytest.raises(FrozenInstanceError):
            setattr(piece, field, "Somebody else")


def test_the_content_is_read_once(released: Report) -> None:
    content_cache.frame_of(released)
    with CaptureQueriesContext(connection) as asked:
        content_cache.whole_against(released, "C2")
    assert len(asked) == 0


def test_another_content_is_read_anew(released: Report) -> None:
    assert content_cache.frame_of(released).client != "Somebody else"
    changed = released.content | {"client": "Somebody else"}
    with unguarded("reports_report"):
        Report.objects.filter(pk=released.pk).update(content=changed, digest=digest(changed))
    released.refresh_from_db()
    assert content_cache.frame_of(released).client == "Somebody else"
    assert released.record.client == "Somebody else"


def test_an_unknown_zone_is_none(released: Report) -> None:
    assert content_cache.zone_alone(released, "0" * 32) is None
