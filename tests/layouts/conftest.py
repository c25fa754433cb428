from __future__ import annotations

from copy import deepcopy

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Site, User
from tests import factories as make
from tests.layouts.files import Browse
from tests.worlds import Build, World


def a_campaign(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site, name="Autumn round")


def a_meter(site: Site) -> Instrument:
    """Formaldehyde in ppm and in mg/m³, CO2 in ppm, temperature in °C."""
    meter: Instrument = make.InstrumentFactory.create(organisation=site.organisation, name="meter N", serial="FL-7001")
    for parameter, unit in (("formaldehyde", "mg/m³"), ("co2", "ppm"), ("temperature", "°C")):
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter=parameter, unit=unit)
    return meter


@pytest.fixture(scope="module")
def building() -> Build:
    return lambda world: (a_campaign(world.site), a_meter(world.site))


@pytest.fixture
def own_world(world_of_file: World, db: None) -> World:
    return deepcopy(world_of_file)


@pytest.fixture
def campaign(own_world: World | None, site: Site) -> Campaign:
    return own_world.built[0] if own_world else a_campaign(site)


@pytest.fixture
def meter(own_world: World | None, site: Site) -> Instrument:
    return own_world.built[1] if own_world else a_meter(site)


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)
