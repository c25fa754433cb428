"""Pieces of a released report: together they are the content, each page's copy is its own, and none outlives it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from campaigns import models as m
from reports.content.canonical import digest
from reports.models import Report
from reports.pages import content_cache
from reports.pages.released_report import finding_of, zones
from reports.services.release import sign_and_release
from tests.reports.measured import house


@pytest.fixture
def released(site: m.Site, consultant: m.User) -> Report:
    campaign = house(site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H")).campaign
    return sign_and_release(campaign, consultant, "C. Lintel")


def test_frame_and_zones_together_are_the_content(released: Report) -> None:
    content = content_cache.whole_against(released, None)
    for building in content["buildings"]:
        for floor in building["floors"]:
            floor["zones"] = [content_cache.zone_alone(released, zone["key"]) for zone in floor["zones"]]
    assert digest(content) == released.digest


@pytest.mark.parametrize("ref", ["C1", "C2"])
def test_against_one_limit_each_zone_has_that_finding(released: Report, ref: str) -> None:
    shown = {zone["key"]: zone["findings"] for zone in zones(content_cache.whole_against(released, ref))}
    for zone in zones(released.content):
        (finding,) = shown[zone["key"]]
        signed = finding_of(zone, ref)
        assert {name: signed[name] for name in content_cache.OF_FINDING} == {
            k: v for k, v in finding.items() if k != "result"
        }
        assert (finding["result"] or {}).items() <= (signed["result"] or {}).items()


def test_what_a_page_does_with_its_piece_is_its_own_matter(released: Report) -> None:
    key = zones(released.content)[0]["key"]
    content_cache.frame_of(released).clear()
    (content_cache.zone_alone(released, key) or {}).clear()
    assert content_cache.frame_of(released)["revision"] == 1
    assert (content_cache.zone_alone(released, key) or {})["key"] == key


def test_the_content_is_read_once(released: Report) -> None:
    content_cache.frame_of(released)
    with CaptureQueriesContext(connection) as asked:
        content_cache.whole_against(released, "C2")
    assert len(asked) == 0


def test_another_content_is_read_anew(released: Report) -> None:
    assert content_cache.frame_of(released)["client"] != "Somebody else"
    changed = released.content | {"client": "Somebody else"}
    Report.objects.filter(pk=released.pk).update(content=changed, digest=digest(changed))
    released.refresh_from_db()
    assert content_cache.frame_of(released)["client"] == "Somebody else"


def test_an_unknown_zone_is_none(released: Report) -> None:
    assert content_cache.zone_alone(released, "0" * 32) is None
