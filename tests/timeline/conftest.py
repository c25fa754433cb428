from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass

import pytest

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, Site, User
from readings.services.timeline import Who
from tests import factories as make
from tests.worlds import Build, World


@dataclass
class Places:
    campaign: Campaign
    meter: Instrument
    ash: SamplingPoint
    birch: SamplingPoint


def _point(site: Site, name: str) -> SamplingPoint:
    return make.PointFactory(room__zone__floor__building__site=site, room__name=name, name="P1")


def build(world: World) -> Places:
    return Places(
        make.CampaignFactory(site=world.site, name="Autumn round"),
        make.InstrumentFactory(organisation=world.organisation, name="meter N"),
        _point(world.site, "Ash"),
        _point(world.site, "Birch"),
    )


@pytest.fixture(scope="module")
def building() -> Build:
    return build


@pytest.fixture
def own_world(world_of_file: World, db: None) -> World:
    return deepcopy(world_of_file)


@pytest.fixture
def places(own_world: World) -> Places:
    found: Places = own_world.built
    return found


@pytest.fixture
def campaign(places: Places) -> Campaign:
    return places.campaign


@pytest.fixture
def meter(places: Places) -> Instrument:
    return places.meter


@pytest.fixture
def ash(places: Places) -> SamplingPoint:
    return places.ash


@pytest.fixture
def birch(places: Places) -> SamplingPoint:
    return places.birch


@pytest.fixture
def stay(campaign: Campaign, meter: Instrument, ash: SamplingPoint) -> Deployment:
    """At Ash from 08:00 to 10:00 UTC, which is 09:00 to 11:00 in Lisbon."""
    return make.DeploymentFactory(campaign=campaign, instrument=meter, point=ash, notes="window shut")


@pytest.fixture
def who(campaign: Campaign, meter: Instrument, field_staff: User) -> Who:
    return Who(campaign, meter, field_staff)
