"""Deleting: what goes along, what must stay, and that nothing is left hanging."""

from __future__ import annotations

from typing import Any

import pytest
from django.db.models.signals import pre_delete
from django.test import Client

from campaigns.models import (
    Campaign,
    Channel,
    Deployment,
    Instrument,
    PlannedPoint,
    Room,
    SamplingPoint,
    Site,
    User,
    Zone,
)
from campaigns.services.removal import Blocked, remove, weigh
from readings.models import Reading, Upload
from reports.models import ExposureGroup, ExposureSample
from tests import factories as make
from tests.campaigns.pages import Browse, get, post, text
from tests.worlds import a_consultant


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def zone(site: Site) -> Zone:
    return make.ZoneFactory(floor__building__site=site, name="North wing")


def test_an_empty_zone_goes_and_one_is_back_at_its_floor(owner: Client, zone: Zone) -> None:
    answer = post(owner, "zone-delete", zone)
    assert answer.url == f"/sites/{zone.floor.building.site.key}/#at-{zone.floor.key}"
    assert not Zone.objects.exists()


def test_what_hangs_on_it_is_named_instead_of_an_error(owner: Client, zone: Zone) -> None:
    for name in ("Ash", "Birch", "Cedar", "Elm"):
        make.RoomFactory(zone=zone, name=name)
    said = "4 rooms hang on it: Ash, Birch, Cedar and 1 more."
    assert said in text(get(owner, "zone-delete", zone))
    answer = post(owner, "zone-delete", zone)
    assert (answer.status_code, said in text(answer)) == (409, True)
    assert Zone.objects.exists()


def test_what_goes_along_is_counted(owner: Client, site: Site) -> None:
    campaign = make.CampaignFactory(site=site)
    for _ in range(2):
        point = make.PointFactory(room__zone__floor__building__site=site)
        PlannedPoint.objects.create(campaign=campaign, point=point)
    make.CriterionFactory(campaign=campaign)
    assert sorted(weigh(campaign).goes_too) == [(1, "criterion"), (2, "planned points")]
    page = text(get(owner, "campaign-delete", campaign))
    assert '<span class="num">2</span> planned points' in page
    post(owner, "campaign-delete", campaign)
    assert not Campaign.objects.exists()
    assert SamplingPoint.objects.count() == 2


def test_somebody_was_faster(zone: Zone, monkeypatch: pytest.MonkeyPatch) -> None:
    """A room is added between the look and the deletion: the database refuses, and the reason is looked up."""
    make.RoomFactory(zone=zone, name="Ash")
    answers = iter([type(weigh(zone))(), weigh(zone)])
    monkeypatch.setattr("campaigns.services.removal.weigh", lambda row: next(answers))
    with pytest.raises(Blocked, match="1 room hangs on it: Ash"):
        remove(zone)
    assert Room.objects.exists()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("route", ["room-delete", "deployment-delete"])
def test_what_is_hung_on_it_while_it_is_deleted_is_said_on_the_page(browse: Browse, route: str) -> None:
    """Foreign keys are looked at last: at the commit of the deletion, or of the whole that it is part of."""
    stay: Deployment = make.DeploymentFactory.create()
    criterion = make.CriterionFactory.create(campaign=stay.campaign)
    group = ExposureGroup.objects.create(campaign=stay.campaign, name="Desks", criterion=criterion)
    room: Room = make.RoomFactory.create(zone__floor__building__site=stay.campaign.site)
    row: Room | Deployment = room if route == "room-delete" else stay

    def hang(**_: Any) -> None:
        if row is room:
            SamplingPoint.objects.create(room=room, name="P1")
        else:
            ExposureSample.objects.create(group=group, deployment=stay)

    browser = browse(a_consultant(stay.campaign.site.organisation))
    pre_delete.connect(hang, sender=type(row))
    try:
        answer = post(browser, route, row)
    finally:
        pre_delete.disconnect(hang, sender=type(row))
    assert (answer.status_code, "cannot be deleted" in text(answer)) == (409, True)
    assert type(row)._default_manager.filter(pk=row.pk).exists()


def test_an_instrument_with_readings_stays_though_the_database_would_not_mind(site: Site) -> None:
    """Readings come by the million, so the database does not check their channel."""
    instrument = make.InstrumentFactory(organisation=site.organisation)
    channel = instrument.channels.get()
    upload = make_upload(make.CampaignFactory(site=site))
    Reading.objects.create(channel=channel, stamp=0, nth=0, raw=0.01, upload=upload, line=2)
    assert weigh(instrument).blocked == ["Readings hang on it."]
    assert weigh(channel.spec).blocked == ["Readings hang on it."]
    with pytest.raises(Blocked):
        remove(instrument)
    assert Channel.objects.exists()
    assert Instrument.objects.exists()


def make_upload(campaign: Campaign) -> Upload:
    return Upload.objects.create(campaign=campaign, filename="a.csv", size=1, sha256="0" * 64)
