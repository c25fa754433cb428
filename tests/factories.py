"""Short ways to make what a test needs. Names are invented; nothing here exists."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any, Protocol, TypeVar, cast

import factory
from factory.django import DjangoModelFactory

from campaigns import models as m
from campaigns.models import Criterion, Limit

T = TypeVar("T")


class Maker(Protocol[T]):
    def __call__(self, **fields: Any) -> T: ...

    def create(self, **fields: Any) -> T: ...

    def create_batch(self, size: int, **fields: Any) -> list[T]: ...


START = datetime(2026, 9, 15, 8, 0, tzinfo=UTC)


class _OrganisationFactory(DjangoModelFactory[m.Organisation]):
    class Meta:
        model = m.Organisation

    name = factory.Sequence(lambda n: f"Consultancy {n}")


class _ClientFactory(DjangoModelFactory[m.Client]):
    class Meta:
        model = m.Client

    organisation = factory.SubFactory(_OrganisationFactory)
    name = factory.Sequence(lambda n: f"Client {n}")


class _UserFactory(DjangoModelFactory[m.User]):
    class Meta:
        model = m.User

    email = factory.Sequence(lambda n: f"person{n}@fanlight.example")


class _SiteFactory(DjangoModelFactory[m.Site]):
    class Meta:
        model = m.Site

    organisation = factory.SubFactory(_OrganisationFactory)
    client = factory.SubFactory(_ClientFactory, organisation=factory.SelfAttribute("..organisation"))
    name = factory.Sequence(lambda n: f"Site {n}")
    time_zone = "Europe/Lisbon"


class _BuildingFactory(DjangoModelFactory[m.Building]):
    class Meta:
        model = m.Building

    site = factory.SubFactory(_SiteFactory)
    name = factory.Sequence(lambda n: f"Building {n}")


class _FloorFactory(DjangoModelFactory[m.Floor]):
    class Meta:
        model = m.Floor

    building = factory.SubFactory(_BuildingFactory)
    name = factory.LazyAttribute(lambda floor: f"Floor {floor.level}")
    level = factory.Sequence(lambda n: n)


class _ZoneFactory(DjangoModelFactory[m.Zone]):
    class Meta:
        model = m.Zone

    floor = factory.SubFactory(_FloorFactory)
    name = factory.Sequence(lambda n: f"Zone {n}")


class _RoomFactory(DjangoModelFactory[m.Room]):
    class Meta:
        model = m.Room

    zone = factory.SubFactory(_ZoneFactory)
    name = factory.Sequence(lambda n: f"Room {n}")
    area_m2 = 20.0
    height_m = 2.6


class _PointFactory(DjangoModelFactory[m.SamplingPoint]):
    class Meta:
        model = m.SamplingPoint

    room = factory.SubFactory(_RoomFactory)
    name = factory.Sequence(lambda n: f"P{n}")


class _InstrumentTypeFactory(DjangoModelFactory[m.InstrumentType]):
    class Meta:
        model = m.InstrumentType

    organisation = factory.SubFactory(_OrganisationFactory)
    name = factory.Sequence(lambda n: f"Type {n}")
    warm_up_s = 60


class _ChannelSpecFactory(DjangoModelFactory[m.ChannelSpec]):
    """A formaldehyde channel in ppm, unless told otherwise."""

    class Meta:
        model = m.ChannelSpec

    instrument_type = factory.SubFactory(_InstrumentTypeFactory)
    parameter = "formaldehyde"
    unit = "ppm"
    resolution = 0.001
    range_high = 500.0
    detection_limit = 0.005
    t90_s = 30
    u_zero = 0.002
    u_span = 0.05
    u_drift = 0.0005
    u_span_drift = 0.0
    u_temperature = 0.001
    u_interference = 0.002


class _InstrumentFactory(DjangoModelFactory[m.Instrument]):
    """An instrument with one formaldehyde channel."""

    class Meta:
        model = m.Instrument
        skip_postgeneration_save = True

    organisation = factory.SubFactory(_OrganisationFactory)
    type = factory.SubFactory(_InstrumentTypeFactory, organisation=factory.SelfAttribute("..organisation"))
    name = factory.Sequence(lambda n: f"meter {n}")
    serial = factory.Sequence(lambda n: f"FL-{n:04d}")

    @factory.post_generation
    def channel(instrument: m.Instrument, create: bool, wanted: Any, **fields: Any) -> None:
        if create and wanted is not False:
            _ChannelSpecFactory(instrument_type=instrument.type, **fields)


class _CampaignFactory(DjangoModelFactory[m.Campaign]):
    class Meta:
        model = m.Campaign

    site = factory.SubFactory(_SiteFactory)
    name = factory.Sequence(lambda n: f"Campaign {n}")
    starts_on = date(2026, 9, 14)
    ends_on = date(2026, 9, 18)


class _DeploymentFactory(DjangoModelFactory[m.Deployment]):
    """One instrument in one room of the campaign's site for two hours."""

    class Meta:
        model = m.Deployment

    campaign = factory.SubFactory(_CampaignFactory)
    instrument = factory.SubFactory(
        _InstrumentFactory, organisation=factory.SelfAttribute("..campaign.site.organisation")
    )
    point = factory.SubFactory(
        _PointFactory, room__zone__floor__building__site=factory.SelfAttribute("......campaign.site")
    )
    starts_at = START
    ends_at = START + timedelta(hours=2)


class _CriterionFactory(DjangoModelFactory[Criterion]):
    class Meta:
        model = Criterion

    campaign = factory.SubFactory(_CampaignFactory)
    limit = factory.LazyFunction(lambda: Limit.objects.get(code="HCHO-WHO10-30M"))


# To the type checker a factory is something that makes rows when called, which is how tests use it.
OrganisationFactory: Maker[m.Organisation] = cast("Any", _OrganisationFactory)
ClientFactory: Maker[m.Client] = cast("Any", _ClientFactory)
UserFactory: Maker[m.User] = cast("Any", _UserFactory)
SiteFactory: Maker[m.Site] = cast("Any", _SiteFactory)
BuildingFactory: Maker[m.Building] = cast("Any", _BuildingFactory)
FloorFactory: Maker[m.Floor] = cast("Any", _FloorFactory)
ZoneFactory: Maker[m.Zone] = cast("Any", _ZoneFactory)
RoomFactory: Maker[m.Room] = cast("Any", _RoomFactory)
PointFactory: Maker[m.SamplingPoint] = cast("Any", _PointFactory)
InstrumentTypeFactory: Maker[m.InstrumentType] = cast("Any", _InstrumentTypeFactory)
ChannelSpecFactory: Maker[m.ChannelSpec] = cast("Any", _ChannelSpecFactory)
InstrumentFactory: Maker[m.Instrument] = cast("Any", _InstrumentFactory)
CampaignFactory: Maker[m.Campaign] = cast("Any", _CampaignFactory)
DeploymentFactory: Maker[m.Deployment] = cast("Any", _DeploymentFactory)
CriterionFactory: Maker[Criterion] = cast("Any", _CriterionFactory)
