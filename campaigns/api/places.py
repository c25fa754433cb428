"""Sites, buildings, floors, zones, rooms and sampling points; each row names the keys of what it lies in."""

from __future__ import annotations

from rest_framework import serializers

from campaigns.api.base import ReadOnly, RowSerializer, key_of
from campaigns.api.params import by_choice, by_key
from campaigns.models import Building, Floor, PlaceKind, Room, SamplingPoint, Site, TokenScope, Zone


class SiteSerializer(RowSerializer[Site]):
    class Meta:
        model = Site
        fields = ("key", "name", "address", "time_zone", "altitude_m", "notes")


def kind_of_place(empty: str) -> serializers.CharField:
    """The kind of place as its code."""
    return serializers.CharField(read_only=True, help_text=f"{', '.join(PlaceKind.values)}. Empty: {empty}.")


def outline_of(what: str) -> serializers.ListField:
    """Corners in metres; null where nothing is drawn."""
    pair = serializers.ListField(child=serializers.FloatField(), min_length=2, max_length=2)
    return serializers.ListField(
        child=pair,
        read_only=True,
        allow_null=True,
        help_text=f"{what} as corners [x, y] in metres on the floor: x to the right, y down the plan. Null: not drawn.",
    )


class BuildingSerializer(RowSerializer[Building]):
    site = key_of("site")
    place_kind = kind_of_place("not said")

    class Meta:
        model = Building
        fields = ("key", "site", "name", "place_kind")


class FloorSerializer(RowSerializer[Floor]):
    site = key_of("building.site")
    building = key_of("building")

    class Meta:
        model = Floor
        fields = ("key", "site", "building", "name", "level")


class ZoneSerializer(RowSerializer[Zone]):
    site = key_of("floor.building.site")
    building = key_of("floor.building")
    floor = key_of("floor")
    place_kind = kind_of_place("as the building")
    outline = outline_of("The zone, where it is not the ground its rooms cover,")

    class Meta:
        model = Zone
        fields = ("key", "site", "building", "floor", "name", "use", "ventilation", "place_kind", "outline")


class RoomSerializer(RowSerializer[Room]):
    site = key_of("zone.floor.building.site")
    floor = key_of("zone.floor")
    zone = key_of("zone")
    outline = outline_of("The room")

    class Meta:
        model = Room
        fields = ("key", "site", "floor", "zone", "name", "area_m2", "height_m", "notes", "outline")


class PointSerializer(RowSerializer[SamplingPoint]):
    site = key_of("site")
    zone = key_of("room.zone", allow_null=True, help_text="Empty for an outdoor point.")
    room = key_of("room", allow_null=True, help_text="Empty for an outdoor point.")
    beside = key_of("beside", allow_null=True, help_text="The floor on whose plan an outdoor point is drawn.")

    class Meta:
        model = SamplingPoint
        fields = ("key", "site", "zone", "room", "name", "kind", "height_m", "place", "x_m", "y_m", "beside")


class SiteViewSet(ReadOnly[Site]):
    """Sites with their time zone and altitude."""

    model = Site
    scope = TokenScope.PLACES
    serializer_class = SiteSerializer


class BuildingViewSet(ReadOnly[Building]):
    """Buildings of sites."""

    model = Building
    scope = TokenScope.PLACES
    serializer_class = BuildingSerializer
    related = ("site",)
    filters = {"site": by_key("site", "Buildings of this site.")}


class FloorViewSet(ReadOnly[Floor]):
    """Floors of buildings."""

    model = Floor
    scope = TokenScope.PLACES
    serializer_class = FloorSerializer
    related = ("building__site",)
    filters = {
        "site": by_key("building__site", "Floors on this site."),
        "building": by_key("building", "Floors of this building."),
    }


class ZoneViewSet(ReadOnly[Zone]):
    """Zones: rooms that share use and ventilation. Findings are about zones."""

    model = Zone
    scope = TokenScope.PLACES
    serializer_class = ZoneSerializer
    related = ("floor__building__site",)
    filters = {
        "site": by_key("floor__building__site", "Zones on this site."),
        "building": by_key("floor__building", "Zones in this building."),
        "floor": by_key("floor", "Zones on this floor."),
    }


class RoomViewSet(ReadOnly[Room]):
    """Rooms of zones."""

    model = Room
    scope = TokenScope.PLACES
    serializer_class = RoomSerializer
    related = ("zone__floor__building__site",)
    filters = {
        "site": by_key("zone__floor__building__site", "Rooms on this site."),
        "building": by_key("zone__floor__building", "Rooms in this building."),
        "floor": by_key("zone__floor", "Rooms on this floor."),
        "zone": by_key("zone", "Rooms of this zone."),
    }


class PointViewSet(ReadOnly[SamplingPoint]):
    """Sampling points: a place and a height, in a room or outdoors."""

    model = SamplingPoint
    scope = TokenScope.PLACES
    serializer_class = PointSerializer
    related = ("site", "room__zone", "beside")
    filters = {
        "site": by_key("site", "Points on this site, outdoor ones included."),
        "floor": by_key("room__zone__floor", "Points on this floor."),
        "zone": by_key("room__zone", "Points in this zone."),
        "room": by_key("room", "Points in this room."),
        "kind": by_choice("kind", SamplingPoint.Kind.values, "Points of this kind."),
    }
