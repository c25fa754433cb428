"""Two people put one instrument into two rooms at the same moment. It is in one place at a time."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, Deployment, Instrument, Organisation, Role, SamplingPoint, User
from tests import factories as make
from tests.races.meeting import Meeting, at_once
from tests.worlds import member

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def campaign(transactional_db: None) -> Campaign:
    return make.CampaignFactory.create()


@pytest.fixture
def meter(campaign: Campaign) -> Instrument:
    return make.InstrumentFactory.create(organisation=campaign.site.organisation)


@pytest.fixture
def points(campaign: Campaign) -> list[SamplingPoint]:
    return [make.PointFactory.create(room__zone__floor__building__site=campaign.site) for _ in range(2)]


@pytest.fixture
def people(campaign: Campaign) -> list[User]:
    house: Organisation = campaign.site.organisation
    return [member(house, Role.FIELD, f"field-{n}@fanlight.example") for n in range(2)]


@pytest.fixture
def _both_pass_the_form(monkeypatch: pytest.MonkeyPatch) -> None:
    """They meet when both have been told that the instrument is free, and neither has saved."""
    monkeypatch.setattr(Deployment, "clash", Meeting().after(Deployment.clash))


def saving(person: User, address: str, point: SamplingPoint, meter: Instrument, start: str, end: str) -> Any:
    browser = Client()
    browser.force_login(person)
    day = "2026-09-15T"
    form = {
        "point": point.pk, "instrument": meter.pk, "starts_at": day + start, "ends_at": day + end if end else "",
        "switched_on_at": "", "notes": "",
    }  # fmt: skip
    return lambda: browser.post(address, form)


@pytest.mark.usefixtures("_both_pass_the_form")
@pytest.mark.parametrize(
    "times",
    [("09:00", "10:00", "09:30", "10:30"), ("09:00", "10:00", "09:00", "10:00"), ("09:00", "", "12:00", "13:00")],
)
def test_one_is_saved_and_the_other_is_told(
    campaign: Campaign, meter: Instrument, points: list[SamplingPoint], people: list[User], times: tuple[str, ...]
) -> None:
    address = reverse("deployment-add", args=[campaign.key])
    answers = at_once(
        saving(people[0], address, points[0], meter, *times[:2]),
        saving(people[1], address, points[1], meter, *times[2:]),
    )
    assert sorted(answer.status_code for answer in answers) == [302, 422]
    refused = next(answer for answer in answers if answer.status_code == 422)
    assert refused.context["form"].errors["instrument"][0].startswith(Deployment.ONE_PLACE_MESSAGE)
    assert Deployment.objects.count() == 1


@pytest.mark.usefixtures("_both_pass_the_form")
def test_one_after_the_other_is_no_clash(
    campaign: Campaign, meter: Instrument, points: list[SamplingPoint], people: list[User]
) -> None:
    """It leaves one room at 10:00 and is in the next from 10:00 on."""
    address = reverse("deployment-add", args=[campaign.key])
    answers = at_once(
        saving(people[0], address, points[0], meter, "09:00", "10:00"),
        saving(people[1], address, points[1], meter, "10:00", "11:00"),
    )
    assert [answer.status_code for answer in answers] == [302, 302]
    assert Deployment.objects.count() == 2


@pytest.mark.usefixtures("_both_pass_the_form")
def test_moving_two_into_each_other(
    campaign: Campaign, meter: Instrument, points: list[SamplingPoint], people: list[User]
) -> None:
    first, second = (
        make.DeploymentFactory.create(
            campaign=campaign, instrument=meter, point=point, starts_at=start, ends_at=start + timedelta(hours=1)
        )
        for point, start in zip(points, (make.START, make.START + timedelta(hours=4)), strict=True)
    )
    answers = at_once(
        saving(people[0], reverse("deployment-edit", args=[first.key]), points[0], meter, "10:00", "10:45"),
        saving(people[1], reverse("deployment-edit", args=[second.key]), points[1], meter, "10:30", "11:00"),
    )
    assert sorted(answer.status_code for answer in answers) == [302, 422]
    first.refresh_from_db()
    second.refresh_from_db()
    assert first.ends_at is not None
    assert first.ends_at <= second.starts_at
