from __future__ import annotations

from collections.abc import Callable, Iterator
from copy import deepcopy
from datetime import timedelta

import pytest
from django.test import Client

from campaigns.models import Campaign, Channel, Instrument, User
from readings.models import Upload
from tests import factories as make
from tests.readings.doing import TEN, WALL, Read, a_log, hand_in, read
from tests.readings.pages import Browse, at
from tests.worlds import Build, World


def build(world: World) -> tuple[Campaign, Instrument]:
    """The instrument: formaldehyde in ppm, its clock on the site's time."""
    return (
        make.CampaignFactory.create(site=world.site, name="Autumn round"),
        make.InstrumentFactory.create(organisation=world.organisation, name="meter N", serial="FL-7001"),
    )


@pytest.fixture(scope="module")
def building() -> Build:
    return build


@pytest.fixture
def own_world(world_of_file: World, db: None) -> World:
    return deepcopy(world_of_file)


@pytest.fixture
def campaign(own_world: World) -> Campaign:
    found: Campaign = own_world.built[0]
    return found


@pytest.fixture
def meter(own_world: World) -> Instrument:
    found: Instrument = own_world.built[1]
    return found


@pytest.fixture
def channel(meter: Instrument) -> Channel:
    return meter.channels.get()


@pytest.fixture
def take(campaign: Campaign, meter: Instrument) -> Callable[..., Read]:
    """``take(content, name)``: handed in as the meter's and read."""

    def take(content: bytes | str, name: str = "log.csv") -> Read:
        upload = hand_in(campaign, content, name, meter)
        job = read(upload)
        return upload, job

    return take


@pytest.fixture
def usable_afterwards(campaign: Campaign, meter: Instrument, browse: Browse, consultant: User) -> Iterator[None]:
    """Asked last: the pages stand, and the next good file is read."""
    browser: Client = browse(consultant)
    yield
    assert browser.get(at("uploads", campaign)).status_code == 200
    for upload in Upload.objects.all():
        assert browser.get(at("upload", upload)).status_code == 200
    good = hand_in(campaign, a_log(TEN, start=WALL + timedelta(days=30)), "good.csv", meter)
    assert read(good).message == "10 readings stored."
