from __future__ import annotations

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Site, User
from tests import factories as make
from tests.layouts.files import Browse


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site, name="Autumn round")


@pytest.fixture
def meter(site: Site) -> Instrument:
    """Formaldehyde in ppm and in mg/m³, CO2 in ppm, temperature in °C."""
    meter: Instrument = make.InstrumentFactory.create(organisation=site.organisation, name="meter N", serial="FL-7001")
    for parameter, unit in (("formaldehyde", "mg/m³"), ("co2", "ppm"), ("temperature", "°C")):
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter=parameter, unit=unit, range_high=5000)
    return meter


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)
