from __future__ import annotations

import pytest

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, Site, User
from readings.services.timeline import Who
from tests import factories as make


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site, name="Autumn round")


@pytest.fixture
def meter(site: Site) -> Instrument:
    return make.InstrumentFactory(organisation=site.organisation, name="meter N")


def _point(site: Site, name: str) -> SamplingPoint:
    return make.PointFactory(room__zone__floor__building__site=site, room__name=name, name="P1")


@pytest.fixture
def ash(site: Site) -> SamplingPoint:
    return _point(site, "Ash")


@pytest.fixture
def birch(site: Site) -> SamplingPoint:
    return _point(site, "Birch")


@pytest.fixture
def stay(campaign: Campaign, meter: Instrument, ash: SamplingPoint) -> Deployment:
    """At Ash from 08:00 to 10:00 UTC, which is 09:00 to 11:00 in Lisbon."""
    return make.DeploymentFactory(campaign=campaign, instrument=meter, point=ash, notes="window shut")


@pytest.fixture
def who(campaign: Campaign, meter: Instrument, field_staff: User) -> Who:
    return Who(campaign, meter, field_staff)
