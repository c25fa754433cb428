"""Rooms, points and instruments, without a form."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import Instrument, InstrumentType, Room, SamplingPoint, Site, User, Zone
from campaigns.services import instruments, sampling_points
from campaigns.services.records import save_changed, save_new
from campaigns.services.rooms import add_rooms
from tests import factories as make
from tests.campaigns.changes import heard, told

pytestmark = pytest.mark.history


@pytest.fixture
def zone(site: Site) -> Zone:
    return make.ZoneFactory(floor__building__site=site)


def test_a_point_in_a_room_is_on_its_site(zone: Zone, site: Site) -> None:
    room = make.RoomFactory.create(zone=zone)
    point = sampling_points.make_in_room(room, name="P1")
    assert (point.site, point.kind, point.height_m) == (site, SamplingPoint.Kind.ROOM_AIR, 1.2)
    with pytest.raises(ValidationError, match="This room already has a point of this name"):
        sampling_points.make_in_room(room, name="P1")
    with pytest.raises(ValidationError, match="An outdoor point has no room"):
        sampling_points.make_in_room(room, name="P2", kind=SamplingPoint.Kind.OUTDOOR)


def test_a_point_without_a_room_is_outdoors(site: Site) -> None:
    point = sampling_points.make_outdoors(site, name="Gate", height_m=1.5, place="left of the gate")
    assert (point.room, point.kind, point.place) == (None, SamplingPoint.Kind.OUTDOOR, "left of the gate")
    with pytest.raises(ValidationError, match="An outdoor point has no room"):
        save_changed(point, kind=SamplingPoint.Kind.ROOM_AIR)
    with pytest.raises(ValidationError, match="The height is between 0 and 100 m"):
        sampling_points.make_outdoors(site, name="Mast", height_m=140)


def test_rooms_come_all_or_none(zone: Zone) -> None:
    make.RoomFactory(zone=zone, name="Birch")
    rooms = [Room(zone=zone, name=name) for name in ("Ash", "Birch", "Cedar")]
    with pytest.raises(ValidationError, match="Somebody else has just added a room “Birch”"):
        add_rooms(rooms, with_points=True)
    assert [room.name for room in Room.objects.all()] == ["Birch"]
    assert not SamplingPoint.objects.exists()
    add_rooms([Room(zone=zone, name=name) for name in ("Ash", "Cedar")], with_points=True)
    assert [str(point) for point in SamplingPoint.objects.order_by("room__name")] == ["Ash, P1", "Cedar, P1"]
    assert {what for what, *_ in told(Room.objects.get(name="Ash"))} == {"created"}


def test_an_instrument_comes_with_the_channels_of_its_type(site: Site) -> None:
    kind = make.ChannelSpecFactory.create(instrument_type__organisation=site.organisation).instrument_type
    meter = instruments.make(site.organisation, type=kind, name="meter N", serial="N-1")
    assert [str(channel.spec) for channel in meter.channels.all()] == ["Formaldehyde in ppm"]
    with pytest.raises(ValidationError, match="There is already an instrument with this serial number"):
        instruments.make(site.organisation, type=kind, name="meter M", serial="N-1")


def test_a_strangers_type_is_refused(site: Site, stranger: User) -> None:
    theirs = make.InstrumentTypeFactory.create(organisation=stranger.memberships.get().organisation)
    with pytest.raises(ValidationError) as refused:
        instruments.make(site.organisation, type=theirs, name="meter N", serial="N-1", clock_offset_min=60)
    assert refused.value.message_dict == {
        "type": ["This instrument type belongs to another organisation."],
        "clock_offset_min": ["Only a clock with a fixed offset has one. Leave it at 0."],
    }


def test_a_changed_clock_is_told_and_held_against_its_basis(site: Site) -> None:
    stay = make.DeploymentFactory.create(campaign__site=site)
    fixed = Instrument.ClockBasis.FIXED
    with heard() as words:
        changed = instruments.change(stay.instrument, clock_basis=fixed, clock_offset_min=60)
    assert (changed.clock_offset_min, words) == (60, [[stay.campaign_id]])
    with pytest.raises(ValidationError, match="Only a clock with a fixed offset has one"):
        instruments.change(stay.instrument, clock_basis=Instrument.ClockBasis.UTC)


def test_a_type_works_between_two_temperatures(site: Site) -> None:
    kind = InstrumentType(organisation=site.organisation, name="N", temperature_low_c=40, temperature_high_c=0)
    with pytest.raises(ValidationError) as refused:
        save_new(kind)
    assert refused.value.message_dict == {"temperature_high_c": ["The highest temperature is above the lowest."]}
