"""What a campaign means to measure and is judged by, and limits of the house's own, without a form."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Criterion, Limit, LimitCheck, PlannedPoint, SamplingPoint, Site, User
from campaigns.services import criteria, own_limits, planned_points
from campaigns.services.limits_library import confirm, confirm_in_each
from tests import factories as make
from tests.campaigns.changes import told

pytestmark = pytest.mark.history


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site)


@pytest.fixture
def points(site: Site) -> list[SamplingPoint]:
    return [
        make.PointFactory.create(room__zone__floor__building__site=site, room__name=name) for name in ("Ash", "Birch")
    ]


def terms(**change: Any) -> dict[str, Any]:
    return {
        "parameter": "formaldehyde", "value": Decimal("0.05"), "unit": "mg/m³",
        "averaging": Limit.Averaging.ROLLING.value, "averaging_minutes": 30, "body": "the client",
        "document": "specification",
    } | change  # fmt: skip


def test_points_and_their_order_are_one_plan(campaign: Campaign, points: list[SamplingPoint]) -> None:
    ash, birch = points
    assert planned_points.plan(campaign, points, {ash.pk: 7, birch.pk: 3}) == (2, 0)
    assert [planned.point for planned in campaign.planned_points.all()] == [birch, ash]
    assert planned_points.plan(campaign, [ash], {}) == (0, 1)


def test_a_strangers_point_is_not_planned(campaign: Campaign, points: list[SamplingPoint], stranger: User) -> None:
    house = stranger.memberships.get().organisation
    theirs = make.PointFactory.create(room__zone__floor__building__site__organisation=house)
    with pytest.raises(ValidationError, match="on another site"):
        planned_points.plan(campaign, [*points, theirs], {})
    assert not PlannedPoint.objects.exists()


def test_a_criterion_is_taken_away_in_its_turn(campaign: Campaign) -> None:
    limits = list(Limit.objects.filter(code__in=("HCHO-WHO10-30M", "HCHO-HC-1H")))
    assert criteria.add(campaign, limits) == 2
    first, second = campaign.criteria.all()
    criteria.remove(Criterion.objects.get(pk=first.pk))
    assert campaign.criteria.get() == second
    assert told(first)[0][0] == "deleted"


def test_a_strangers_limit_is_no_criterion(campaign: Campaign, stranger: User) -> None:
    theirs = own_limits.make(stranger.memberships.get().organisation, **terms())
    with pytest.raises(ValidationError, match="This limit belongs to another organisation"):
        criteria.add(campaign, [theirs])
    assert not Criterion.objects.exists()


def test_an_own_limit_says_itself_and_needs_no_check(site: Site) -> None:
    limit = own_limits.make(site.organisation, **terms())
    assert limit.code == f"OWN-{limit.key.hex[:8].upper()}"
    assert (limit.needs_check, limit.published) == (False, False)
    assert "0.05 mg/m³" in limit.text
    changed = own_limits.change(limit, value=Decimal("0.08"))
    assert (changed.code, changed.averaging_minutes) == (limit.code, 30)
    assert "0.08 mg/m³" in changed.text


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"averaging": "annual_mean"}, "averaging"),
        ({"averaging_minutes": 0}, "averaging_minutes"),
        ({"value": None}, "value"),
        ({"value": Decimal(-1)}, "__all__"),
        ({"unit": "°C"}, "unit"),
        ({"body": ""}, "body"),
    ],
)
def test_an_own_limit_that_says_too_little(site: Site, wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(ValidationError) as refused:
        own_limits.make(site.organisation, **terms(**wrong))
    assert set(refused.value.message_dict) == {field}
    assert not Limit.objects.filter(organisation=site.organisation).exists()


def test_a_published_limit_stays_and_only_it_is_checked(site: Site, consultant: User) -> None:
    published = Limit.objects.get(code="HCHO-WHO10-30M")
    with pytest.raises(ValidationError, match="changed in its data file"):
        own_limits.change(published, value=Decimal(1))
    own = own_limits.make(site.organisation, **terms())
    with pytest.raises(ValidationError, match="Only a published limit"):
        confirm(own, site.organisation_id, consultant)
    other = make.OrganisationFactory.create()
    confirm_in_each(published, {site.organisation_id, other.pk}, consultant)
    confirm_in_each(published, [site.organisation_id], consultant)
    assert LimitCheck.objects.filter(limit=published, by=consultant).count() == 2
