"""The campaign page: the building, the counts, what is missing, and that it asks no more of a larger house."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Criterion
from campaigns.services.workers import NO_WORKER, beat
from methods.quantities.moments import utc_ms
from readings.models import Upload
from reports.models import Finding
from tests import factories as make
from tests.reports.measured import House, house, work
from tests.reports.pages import Browse, campaign_url, crowd, text_of, zone_url
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def test_the_building_shows_each_zone_by_what_was_measured_in_it(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(campaign_url(measured.campaign))
    (section,) = page.context["sections"]
    (floor,) = section["floors"]
    cells = {cell["name"]: cell for cell in floor["zones"]}
    high = Finding.objects.get(zone=measured.high, criterion__position=0)
    assert cells["Attic studio"]["verdict"] == "above"
    assert cells["Attic studio"]["fraction"] == pytest.approx(high.fraction)
    assert cells["Library"]["verdict"] == "below"
    assert cells["Cellar"]["measured"] is False
    assert sum(cell["span"] for cell in floor["zones"]) == 24
    assert "≤ 0.1 mg/m³, worst 30-minute mean – WHO (Europe) 2010, values at 25 °C, 101.325 kPa" in text_of(page)
    assert zone_url(measured.campaign, measured.high) in page.content.decode()


def test_verdicts_are_counted_and_the_unmeasured_zone_with_them(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(campaign_url(measured.campaign))
    assert page.context["tally"] == [
        ("above", "above limit", 1, ""),
        ("below", "below limit", 1, ""),
        ("unmeasured", "", 1, ""),
    ]
    assert "1 – not measured" in text_of(page)


def test_the_ranking_names_room_and_point_worst_first(measured: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(campaign_url(measured.campaign))
    rows = page.context["ranking"]
    assert [row[0]["text"] for row in rows] == ["Attic studio", "Library", "Cellar"]
    assert rows[0][1]["text"] == "Attic studio room, centre"
    governing = Finding.objects.get(zone=measured.high, criterion__position=0).governing
    assert rows[0][1]["url"] == reverse("result", args=[governing.key])
    assert rows[0][3]["low"] < rows[0][3]["fraction"] < rows[0][3]["high"]
    assert rows[2][4] == {"verdict": "unmeasured"}


def test_the_criterion_is_switched_by_address(measured: House, consultant: m.User, browse: Browse) -> None:
    second = Criterion.objects.get(limit__code="HCHO-HC-8H")
    page = browse(consultant).get(campaign_url(measured.campaign, second))
    cells = {cell["name"]: cell for cell in page.context["sections"][0]["floors"][0]["zones"]}
    assert cells["Attic studio"]["verdict"] == "not_comparable"
    assert cells["Attic studio"]["fraction"] is None, "a number that cannot be compared fills nothing"
    assert [current for _, _, current in page.context["options"]] == [False, True]
    assert "shorter than the 8 h averaged over" in text_of(page)


@pytest.mark.parametrize("key", ["nonsense", "00000000-0000-4000-8000-000000000000"])
def test_a_criterion_of_nobody_is_not_there(measured: House, consultant: m.User, browse: Browse, key: str) -> None:
    assert browse(consultant).get(f"{campaign_url(measured.campaign)}?criterion={key}").status_code == 404


def test_another_campaigns_criterion_is_not_there(measured: House, consultant: m.User, browse: Browse) -> None:
    other = make.CriterionFactory(campaign__site=measured.campaign.site)
    page = browse(consultant).get(f"{campaign_url(measured.campaign)}?criterion={other.key}")
    assert page.status_code == 404


def test_facts_levels_protocol_and_cautions_are_printed(measured: House, consultant: m.User, browse: Browse) -> None:
    m.Campaign.objects.update(protocol="Closed for eight hours", level_above=0.9, level_below=0.1)
    text = text_of(browse(consultant).get(campaign_url(measured.campaign)))
    assert "Closed for eight hours" in text
    assert "above from 90 % probability that the true value is above the limit, below up to 10 %" in text
    assert "It is not a statement of safety" in text
    assert "Formaldehyde irritates and can cause cancer" in text
    assert "Judged at" in text
    assert "by method version" in text


# --- what is missing --------------------------------------------------------------------------------------------------


def missing(page: Any) -> dict[str, list[str]]:
    return {lack.what: list(lack.names) for lack in page.context["lacks"]}


def test_what_is_missing_is_named(measured: House, consultant: m.User, browse: Browse) -> None:
    channel = measured.channel
    m.FieldCheck.objects.filter(channel=channel, at__gt=make.START).delete()
    m.Calibration.objects.update(due=date(2026, 9, 1))
    Upload.objects.create(
        campaign=measured.campaign, filename="riddle.csv", size=1, sha256="a" * 64, state=Upload.State.ATTENTION
    )
    Upload.objects.create(
        campaign=measured.campaign, filename="noise.bin", size=1, sha256="b" * 64, state=Upload.State.UNREADABLE
    )
    still = make.DeploymentFactory(
        campaign=measured.campaign, instrument=measured.instrument, point=make.PointFactory(room__zone=measured.low),
        starts_at=make.START + timedelta(days=2), ends_at=None,
    )  # fmt: skip
    silent = make.DeploymentFactory(
        campaign=measured.campaign, instrument=measured.instrument, point=make.PointFactory(room__zone=measured.low),
        starts_at=make.START + timedelta(days=1), ends_at=make.START + timedelta(days=1, hours=1),
    )  # fmt: skip
    found = missing(browse(consultant).get(campaign_url(measured.campaign)))
    assert found == {
        "Logs wait for a decision": ["riddle.csv"],
        "Logs could not be read": ["noise.bin"],
        "Visits without readings": [str(silent)],
        "Planned points not measured": ["Cellar room, centre"],
        "Instruments still in place": [str(still)],
        "Calibration overdue, or none on record": ["meter A (formaldehyde)"],
        "No zero check after the last visit, so the last one is held": ["meter A (formaldehyde)"],
        "No clock check was entered": ["meter A"],
    }


def test_a_zero_check_before_the_calibration_does_not_count(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    """The meter was adjusted at the calibration, so what it showed at zero gas before says nothing.

    Method: docs/methods/correction.md.
    """
    m.Calibration.objects.update(date=date(2026, 9, 14))
    m.FieldCheck.objects.filter(at__gt=make.START).delete()
    m.FieldCheck.objects.update(at=make.START - timedelta(days=30))
    found = missing(browse(consultant).get(campaign_url(measured.campaign)))
    assert found["No zero check since the calibration"] == ["meter A (formaldehyde)"]


def test_nothing_missing_is_said(measured: House, consultant: m.User, browse: Browse) -> None:
    measured.campaign.planned_points.filter(point__room__zone=measured.empty).delete()
    m.ClockCheck.objects.create(instrument=measured.instrument, at=make.START, shown_ms=utc_ms(make.START))
    page = browse(consultant).get(campaign_url(measured.campaign))
    assert page.context["lacks"] == []
    assert "Nothing is missing" in text_of(page)


@pytest.mark.parametrize("done", range(4))
def test_an_empty_campaign_says_what_to_do_next(site: m.Site, consultant: m.User, browse: Browse, done: int) -> None:
    campaign = make.CampaignFactory(site=site)
    if done > 0:
        m.PlannedPoint.objects.create(
            campaign=campaign, point=make.PointFactory(room__zone__floor__building__site=site)
        )
    if done > 1:
        make.CriterionFactory(campaign=campaign)
    if done > 2:
        make.DeploymentFactory(campaign=campaign)
    page = browse(consultant).get(campaign_url(campaign))
    step = page.context["next_step"]
    headings = (
        "Choose the points to measure", "Choose what the air is judged by", "Measure", "Hand in the logs",
    )  # fmt: skip
    assert step["heading"] == headings[done]
    routes = ("plan", "criteria", "deployments", "uploads")
    assert step["actions"][0]["url"] == reverse(routes[done], args=[campaign.key])
    assert headings[done] in text_of(page)


# --- work and polling -------------------------------------------------------------------------------------------------


def poll(page: Any) -> tuple[str, str]:
    return page.context["poll_url"], page.context["work"].every


def test_it_asks_again_often_while_something_moves_and_is_answered_only_when_something_changed(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    person = browse(consultant)
    url, every = poll(person.get(campaign_url(measured.campaign)))
    assert every == "30s"
    assert person.get(url, headers={"HX-Request": "true"}).status_code == 204
    person.post(reverse("judge", args=[measured.campaign.key]))
    part = person.get(url, headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "<html" not in part.content.decode()
    assert "Judge the campaign" in text_of(part)
    assert NO_WORKER in text_of(part)
    url, every = poll(part)
    assert every == "2s"
    assert person.get(url, headers={"HX-Request": "true"}).status_code == 204
    beat("worker@here 1")
    part = person.get(url, headers={"HX-Request": "true"})
    assert part.status_code == 200, "that somebody is there is news"
    assert NO_WORKER not in text_of(part)
    url, _ = poll(part)
    work()
    settled = person.get(url, headers={"HX-Request": "true"})
    assert settled.status_code == 200
    assert poll(settled)[1] == "30s"


def test_polling_after_the_login_has_ended_loads_the_page_anew(measured: House, browse: Browse) -> None:
    answer = browse(None).get(campaign_url(measured.campaign), headers={"HX-Request": "true"})
    assert answer.headers["HX-Refresh"] == "true"


def test_a_failed_judging_is_told(measured: House, consultant: m.User, browse: Browse) -> None:
    job = m.Job.objects.filter(kind="evaluate").latest("ended_at")
    m.Job.objects.filter(pk=job.pk).update(state=m.Job.State.FAILED, message="The disk is full.")
    assert "The last judging failed: The disk is full." in text_of(
        browse(consultant).get(campaign_url(measured.campaign))
    )


def test_judging_is_asked_for_by_those_who_may_change_the_campaign(
    measured: House, consultant: m.User, field_staff: m.User, stranger: m.User, browse: Browse
) -> None:
    url = reverse("judge", args=[measured.campaign.key])
    before = m.Job.objects.count()
    assert browse(field_staff).post(url).status_code == 404
    assert browse(stranger).post(url).status_code == 404
    assert browse(consultant).get(url).status_code == 405
    assert m.Job.objects.count() == before
    assert browse(consultant).post(url).status_code == 302
    job = m.Job.objects.latest("pk")
    assert (job.kind, job.subject_id, job.state, job.owner) == ("evaluate", measured.campaign.pk, "queued", consultant)
    assert "Judge again" not in text_of(browse(field_staff).get(campaign_url(measured.campaign)))


# --- strangers and size -----------------------------------------------------------------------------------------------


def test_a_stranger_learns_nothing(measured: House, stranger: m.User, client_person: m.User, browse: Browse) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(campaign_url(measured.campaign)).status_code == 404


def test_a_larger_house_takes_no_more_queries(
    measured: House, consultant: m.User, browse: Browse, django_assert_max_num_queries: Any
) -> None:
    crowd(measured, measured.low, 2)
    person = browse(consultant)
    person.get(campaign_url(measured.campaign))  # the first request of a session has its own
    with CaptureQueriesContext(connection) as small:
        person.get(campaign_url(measured.campaign))
    crowd(measured, measured.low, 10, first_hour=48)
    for n in range(3):
        zone = make.ZoneFactory(floor=measured.low.floor, name=f"Further zone {n}")
        crowd(measured, zone, 1, first_hour=72 + 2 * n)
    with django_assert_max_num_queries(len(small)):
        page = person.get(campaign_url(measured.campaign))
    assert len(page.context["ranking"]) == 6
    assert len(small) <= 40


def test_a_floor_without_zones_is_drawn(measured: House, consultant: m.User, browse: Browse) -> None:
    make.FloorFactory(building=measured.high.floor.building, level=-1, name="Vault")
    page = browse(consultant).get(campaign_url(measured.campaign))
    assert [floor["name"] for floor in page.context["sections"][0]["cellars"]] == ["Vault"]
    assert "No zones drawn on this floor." in text_of(page)


@pytest.mark.parametrize(("state", "shown"), [("attention", "waiting"), ("unreadable", "unreadable")])
def test_several_logs_lead_to_the_list_of_those_alone(
    measured: House, consultant: m.User, browse: Browse, state: str, shown: str
) -> None:
    names = {"riddle.csv", "puzzle.csv"}
    for name in names:
        Upload.objects.create(campaign=measured.campaign, filename=name, size=1, sha256=name.zfill(64), state=state)
    browser = browse(consultant)
    (url,) = (
        lack.url for lack in browser.get(campaign_url(measured.campaign)).context["lacks"] if names == set(lack.names)
    )
    assert url.endswith(f"?show={shown}")
    assert {upload.filename for upload in browser.get(url).context["uploads"]} == names
