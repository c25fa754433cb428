from __future__ import annotations

import pytest

from campaigns.models import Campaign, Channel, Instrument, Site
from tests import factories as make


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site, name="Autumn round")


@pytest.fixture
def meter(site: Site) -> Instrument:
    """Formaldehyde in ppm, its clock on the site's time."""
    return make.InstrumentFactory.create(organisation=site.organisation, name="meter N", serial="FL-7001")


@pytest.fixture
def channel(meter: Instrument) -> Channel:
    return meter.channels.get()
