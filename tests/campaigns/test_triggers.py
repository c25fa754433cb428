"""Which campaigns are told that something they rest on has changed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest

from campaigns.models import Calibration, Campaign, ChannelSpec, ClockCheck, Deployment, FieldCheck
from campaigns.signals import inputs_changed
from tests import factories as make

Told = list[list[int]]


@pytest.fixture
def deployment(db: None) -> Deployment:
    return make.DeploymentFactory()


@pytest.fixture
def told(deployment: Deployment) -> Iterator[Told]:
    heard: Told = []

    def hear(sender: Any, campaign_ids: list[int], **_: Any) -> None:
        heard.append(campaign_ids)

    inputs_changed.connect(hear)
    yield heard
    inputs_changed.disconnect(hear)


SAVED: dict[str, Callable[[Deployment], Any]] = {
    "site": lambda d: d.campaign.site,
    "point": lambda d: d.point,
    "instrument type": lambda d: d.instrument.type,
    "channel": lambda d: d.instrument.type.channel_specs.get(),
    "instrument": lambda d: d.instrument,
    "deployment": lambda d: d,
    "campaign": lambda d: d.campaign,
}


@pytest.mark.parametrize("name", SAVED)
def test_saving_tells_the_campaign(name: str, deployment: Deployment, told: Told) -> None:
    SAVED[name](deployment).save()
    assert told == [[deployment.campaign_id]]


def checks(deployment: Deployment) -> list[Any]:
    channel = deployment.instrument.channels.get()
    return [
        Calibration(channel=channel, date=date(2026, 1, 5), due=date(2027, 1, 5)),
        FieldCheck(channel=channel, kind="zero", at=make.START, observed=0),
        ClockCheck(instrument=deployment.instrument, at=make.START, shown_ms=0),
    ]


def test_entering_and_deleting_a_check_tells_it(deployment: Deployment, told: Told) -> None:
    for check in checks(deployment):
        told.clear()
        check.save()
        check.delete()
        assert told == [[deployment.campaign_id]] * 2, type(check)


def test_deleting_a_deployment_tells_its_campaign(deployment: Deployment, told: Told) -> None:
    campaign_id = deployment.campaign_id
    deployment.delete()
    assert told == [[campaign_id]]


def test_every_campaign_in_which_the_instrument_stood(deployment: Deployment, told: Told) -> None:
    second = make.DeploymentFactory(
        instrument=deployment.instrument,
        campaign__site__organisation=deployment.instrument.organisation,
        starts_at=make.START.replace(day=16),
        ends_at=None,
    )
    told.clear()
    deployment.instrument.save()
    assert told == [sorted([deployment.campaign_id, second.campaign_id])]


def test_what_no_campaign_rests_on_tells_nobody(told: Told) -> None:
    make.SiteFactory()
    spec: ChannelSpec = make.ChannelSpecFactory()
    spec.save()
    assert told == []


def test_a_campaign_that_is_gone_is_not_told(told: Told) -> None:
    campaign: Campaign = make.CampaignFactory()
    told.clear()
    campaign.delete()
    assert told == []
