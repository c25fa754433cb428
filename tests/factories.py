"""Short ways to make what a test needs. Names are invented; nothing here exists."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import factory
from factory.django import DjangoModelFactory

from campaigns import models as m
from reports.models import Criterion, Limit

START = datetime(2026, 9, 15, 8, 0, tzinfo=UTC)


class OrganisationFactory(DjangoModelFactory[m.Organisation]):
    class Meta:
        model = m.Organisation

    name = factory.Sequence(lambda n: f"Consultancy {n}")


class ClientFactory(DjangoModelFactory[m.Client]):
    class Meta:
        model = m.Client

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Client {n}")


class UserFactory(DjangoModelFactory[m.User]):
    class Meta:
        model = m.User

    email = factory.Sequence(lambda n: f"person{n}@fanlight.example")


class SiteFactory(DjangoModelFactory[m.Site]):
    class Meta:
        model = m.Site

    organisation = factory.SubFactory(OrganisationFactory)
    client = factory.SubFactory(ClientFactory, organisation=factory.SelfAttribute("..organisation"))
    name = factory.Sequence(lambda n: f"Site {n}")
    time_zone = "Europe/Lisbon"


class BuildingFactory(DjangoModelFactory[m.Building]):
    class Meta:
        model = m.Building

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Building {n}")


class FloorFactory(DjangoModelFactory[m.Floor]):
    class Meta:
        model = m.Floor

    building = factory.SubFactory(BuildingFactory)
    name = factory.LazyAttribute(lambda floor: f"Floor {floor.level}")
    level = factory.Sequence(lambda n: n)


class ZoneFactory(DjangoModelFactory[m.Zone]):
    class Meta:
        model = m.Zone

    floor = factory.SubFactory(FloorFactory)
    name = factory.Sequence(lambda n: f"Zone {n}")


class RoomFactory(DjangoModelFactory[m.Room]):
    class Meta:
        model = m.Room

    zone = factory.SubFactory(ZoneFactory)
    name = factory.Sequence(lambda n: f"Room {n}")
    area_m2 = 20.0
    height_m = 2.6


class PointFactory(DjangoModelFactory[m.SamplingPoint]):
    class Meta:
        model = m.SamplingPoint

    room = factory.SubFactory(RoomFactory)
    name = factory.Sequence(lambda n: f"P{n}")


class InstrumentTypeFactory(DjangoModelFactory[m.InstrumentType]):
    class Meta:
        model = m.InstrumentType

    organisation = factory.SubFactory(OrganisationFactory)
    name = factory.Sequence(lambda n: f"Type {n}")
    warm_up_s = 60


class ChannelSpecFactory(DjangoModelFactory[m.ChannelSpec]):
    """A formaldehyde channel in ppm, unless told otherwise."""

    class Meta:
        model = m.ChannelSpec

    instrument_type = factory.SubFactory(InstrumentTypeFactory)
    parameter = "formaldehyde"
    unit = "ppm"
    resolution = 0.001
    range_high = 5.0
    detection_limit = 0.005
    t90_s = 30
    u_zero = 0.002
    u_span = 0.05
    u_drift = 0.0005
    u_temperature = 0.001
    u_interference = 0.002


class InstrumentFactory(DjangoModelFactory[m.Instrument]):
    """An instrument with one formaldehyde channel."""

    class Meta:
        model = m.Instrument
        skip_postgeneration_save = True

    organisation = factory.SubFactory(OrganisationFactory)
    type = factory.SubFactory(InstrumentTypeFactory, organisation=factory.SelfAttribute("..organisation"))
    name = factory.Sequence(lambda n: f"meter {n}")
    serial = factory.Sequence(lambda n: f"FL-{n:04d}")

    @factory.post_generation
    def channel(instrument: m.Instrument, create: bool, wanted: Any, **fields: Any) -> None:  # noqa: N805
        if create and wanted is not False:
            ChannelSpecFactory(instrument_type=instrument.type, **fields)


class CampaignFactory(DjangoModelFactory[m.Campaign]):
    class Meta:
        model = m.Campaign

    site = factory.SubFactory(SiteFactory)
    name = factory.Sequence(lambda n: f"Campaign {n}")
    starts_on = date(2026, 9, 14)
    ends_on = date(2026, 9, 18)


class DeploymentFactory(DjangoModelFactory[m.Deployment]):
    """One instrument in one room of the campaign's site for two hours."""

    class Meta:
        model = m.Deployment

    campaign = factory.SubFactory(CampaignFactory)
    instrument = factory.SubFactory(
        InstrumentFactory, organisation=factory.SelfAttribute("..campaign.site.organisation")
    )
    point = factory.SubFactory(
        PointFactory, room__zone__floor__building__site=factory.SelfAttribute("......campaign.site")
    )
    starts_at = START
    ends_at = START + timedelta(hours=2)


class CriterionFactory(DjangoModelFactory[Criterion]):
    class Meta:
        model = Criterion

    campaign = factory.SubFactory(CampaignFactory)
    limit = factory.LazyFunction(lambda: Limit.objects.get(code="HCHO-WHO10-30M"))
