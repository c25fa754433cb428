"""Campaigns and their plan."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

import pytest
from django.test import Client

from campaigns.models import Campaign, PlannedPoint, SamplingPoint, Site, User
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text

CAMPAIGN = {
    "name": "Autumn",
    "starts_on": "2026-09-14",
    "ends_on": "2026-09-18",
    "level_above": "0.95",
    "level_below": "0.05",
}


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site, name="Taken")


@pytest.fixture
def points(site: Site) -> list[SamplingPoint]:
    zone = make.ZoneFactory(floor__building__site=site, name="North wing")
    return [make.PointFactory(room__zone=zone, name=name) for name in ("P1", "P2", "P3")]


def planned(campaign: Campaign) -> set[SamplingPoint]:
    return {planned.point for planned in campaign.planned_points.all()}


def test_a_campaign_is_added_and_its_points_come_next(owner: Client, site: Site) -> None:
    answer = post(owner, "campaign-add", site, **CAMPAIGN)
    assert answer.url == f"/campaigns/{Campaign.objects.get(site=site).key}/plan/"


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"name": "Taken"}, "name", "This site already has a campaign of this name."),
        ({"ends_on": "2026-09-13"}, "ends_on", "The campaign ends on or after the day it starts."),
        ({"level_below": "0.96"}, "level_above", "The two levels lie between 0 and 1, “below” under “above”."),
        ({"level_above": "1"}, "level_above", "The two levels lie between 0 and 1, “below” under “above”."),
        ({"shift_hours": "24"}, "shift_hours", "A shift lasts more than 0 and less than 24 hours."),
        ({"unsampled": "half"}, "unsampled", "Select a valid choice. half is not one of the available choices."),
        ({"starts_on": "someday"}, "starts_on", "Enter a valid date."),
    ],
)
def test_what_is_wrong_with_a_campaign(
    owner: Client, campaign: Campaign, change: dict[str, str], field: str, message: str
) -> None:
    assert errors(post(owner, "campaign-add", campaign.site, **(CAMPAIGN | change))) == {field: [message]}


def test_points_are_chosen_and_left_out_again(owner: Client, campaign: Campaign, points: list[SamplingPoint]) -> None:
    post(owner, "plan", campaign, points=[points[0].pk, points[1].pk])
    assert planned(campaign) == set(points[:2])
    kept = campaign.planned_points.get(point=points[1]).pk
    post(owner, "plan", campaign, points=[points[1].pk, points[2].pk])
    assert planned(campaign) == set(points[1:])
    assert campaign.planned_points.get(point=points[1]).pk == kept
    post(owner, "plan", campaign)
    assert planned(campaign) == set()


def test_points_are_visited_in_the_order_that_was_set(
    owner: Client, campaign: Campaign, points: list[SamplingPoint]
) -> None:
    def order() -> list[int]:
        return list(campaign.planned_points.values_list("point_id", flat=True))

    post(owner, "plan", campaign, points=[point.pk for point in points])
    first = order()
    assert sorted(first) == sorted(point.pk for point in points)
    wanted = {f"order-{pk}": str(10 - place) for place, pk in enumerate(first)}
    post(owner, "plan", campaign, points=first, **wanted, **{"order-x": "1", f"order-{10**9}": "3"})
    assert order() == first[::-1]
    post(owner, "plan", campaign, points=first, **{f"order-{first[0]}": "soon"})
    assert order() == first[::-1]
    assert f'name="order-{first[0]}" value="10"' in text(get(owner, "plan", campaign))


def test_points_come_by_zone(owner: Client, campaign: Campaign, points: list[SamplingPoint], site: Site) -> None:
    SamplingPoint.objects.create(site=site, name="North side", kind="outdoor")
    groups = [(group.name, len(rows)) for group, rows in get(owner, "plan", campaign).context["groups"]]
    assert groups == [("North wing", 3), ("Outdoors", 1)]


def test_points_of_another_site_are_neither_offered_nor_taken(owner: Client, campaign: Campaign) -> None:
    elsewhere = make.PointFactory(room__zone__floor__building__site__organisation=campaign.site.organisation)
    theirs = make.PointFactory()
    for point in (elsewhere, theirs):
        told = errors(post(owner, "plan", campaign, points=[point.pk]))
        assert told == {"points": ["One of these points is no longer on the site."]}
    assert not PlannedPoint.objects.exists()


@pytest.mark.parametrize("number", ["9" * 20, "9" * 5000, "٣"])
def test_a_number_that_no_point_has(
    owner: Client, campaign: Campaign, points: list[SamplingPoint], number: str
) -> None:
    answer = post(owner, "plan", campaign, points=[points[0].pk, number])
    assert (answer.status_code, list(answer.context["form"].errors)) == (422, ["points"])
    assert {point for _, group in answer.context["groups"] for point, chosen, _ in group if chosen} == {points[0]}
    sent, form = urlencode({"points": points[0].pk, f"order-{number}": 1}), "application/x-www-form-urlencoded"
    assert owner.post(f"/campaigns/{campaign.key}/plan/", sent, content_type=form).status_code == 302
    assert planned(campaign) == {points[0]}


def test_the_cautions_are_where_the_plan_is_made(owner: Client, campaign: Campaign) -> None:
    page = text(get(owner, "plan", campaign))
    for said in ("for screening", "pass for formaldehyde", "places, times and conditions", "Exposure at work"):
        assert said in page


def test_field_staff_see_the_plan_and_do_not_choose(
    browse: Browse, field_staff: User, campaign: Campaign, points: list[SamplingPoint]
) -> None:
    field = browse(field_staff)
    assert "Save the plan" not in text(get(field, "plan", campaign))
    assert post(field, "plan", campaign, points=[points[0].pk]).status_code == 404
    assert planned(campaign) == set()


def test_strangers_do_not_plan_here(browse: Browse, stranger: User, campaign: Campaign) -> None:
    theirs = browse(stranger)
    assert post(theirs, "plan", campaign).status_code == 404
    assert post(theirs, "campaign-add", campaign.site, **CAMPAIGN).status_code == 404
    assert "Taken" not in text(get(theirs, "campaigns"))


def test_the_list_of_campaigns(owner: Client, campaign: Campaign, points: list[SamplingPoint]) -> None:
    PlannedPoint.objects.create(campaign=campaign, point=points[0])
    page = text(get(owner, "campaigns"))
    for said in ("Taken", "Harbour House", "2026-09-14", "2026-09-18"):
        assert said in page


def test_nothing_yet_says_what_to_do_next(browse: Browse, stranger: User, field_staff: User) -> None:
    assert "Add a site" in text(get(browse(stranger), "campaigns"))
    assert "Add a site" not in text(get(browse(field_staff), "campaigns"))


def test_the_plan_asks_as_much_for_many_points_as_for_few(
    owner: Client, campaign: Campaign, points: list[SamplingPoint], django_assert_max_num_queries: Any
) -> None:
    with django_assert_max_num_queries(30) as few:
        get(owner, "plan", campaign)
    for _ in range(8):
        make.PointFactory(room__zone__floor__building__site=campaign.site)
    with django_assert_max_num_queries(len(few.captured_queries)):
        get(owner, "plan", campaign)
