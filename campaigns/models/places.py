"""Where is measured: site > building > floor > zone > room > sampling point."""

from __future__ import annotations

import zoneinfo
from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import Q

from campaigns.models.base import Record
from campaigns.models.people import Client, Organisation
from methods.floorplans import faults
from methods.floorplans.shape import FARTHEST_M

ON_THE_PLAN = (MinValueValidator(-FARTHEST_M), MaxValueValidator(FARTHEST_M))


def validate_time_zone(name: str) -> None:
    if name not in zoneinfo.available_timezones():
        raise ValidationError(f"“{name}” is not an IANA time zone. An example: Europe/Lisbon.")


def validate_outline(outline: Any) -> None:
    wrong = faults(outline)
    if wrong:
        raise ValidationError(wrong)


def outline_field() -> models.JSONField[Any, Any]:
    """Corners [[x, y], …] in metres on the floor's own coordinates, see methods.floorplans; None: not drawn."""
    return models.JSONField(null=True, blank=True, editable=False, validators=[validate_outline])


class PlaceKind(models.TextChoices):
    """What a place is, as far as limits ask for it: whose air is meant."""

    DWELLING = "dwelling", "Dwelling"
    SCHOOL = "school", "School or nursery"
    CARE = "care", "Hospital or care"
    OFFICE = "office", "Office"
    PUBLIC = "public", "Other public or commercial building"
    WORKPLACE = "workplace", "Workplace with hazardous substances"


class Site(Record):
    """A place that a client asks about: its buildings, its time zone, its altitude, its outdoor points."""

    list_route: ClassVar[str | None] = "sites"
    page_route: ClassVar[str | None] = "site"
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="sites")
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="sites", null=True, blank=True)
    name = models.CharField(max_length=200)
    address = models.CharField(max_length=400, blank=True)
    time_zone = models.CharField(
        max_length=64,
        validators=[validate_time_zone],
        help_text="IANA name, for example Europe/Lisbon. Loggers set to local time are read in this zone.",
    )
    altitude_m = models.FloatField(
        "altitude",
        default=0,
        validators=[MinValueValidator(-430), MaxValueValidator(6000)],
        help_text="Metres above sea level: the air pressure of the ISO 2533 standard atmosphere follows from it.",
    )
    notes = models.TextField(blank=True)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="site_name_once",
                violation_error_message="There is already a site of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.client_id and self.client and self.client.organisation_id != self.organisation_id:
            raise ValidationError({"client": "This client belongs to another organisation."})

    @property
    def zone_info(self) -> zoneinfo.ZoneInfo:
        return zoneinfo.ZoneInfo(self.time_zone)


class Building(Record):
    """A building of a site."""

    lies_in_field: ClassVar[str | None] = "site"
    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="buildings")
    name = models.CharField(max_length=200)
    place_kind = models.CharField(
        "kind of place",
        max_length=20,
        choices=PlaceKind.choices,
        blank=True,
        help_text="A workplace limit is no criterion for a dwelling, nor the reverse. Left empty: not said.",
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("site", "name"),
                name="building_name_once",
                violation_error_message="This site already has a building of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class Floor(Record):
    """A storey of a building. Its drawing has coordinates of its own."""

    lies_in_field: ClassVar[str | None] = "building"
    building = models.ForeignKey(Building, on_delete=models.PROTECT, related_name="floors")
    name = models.CharField(max_length=100)
    level = models.SmallIntegerField(help_text="0 is the ground floor; −1 the one below it.")

    class Meta:
        ordering = ("-level",)
        constraints = (
            models.UniqueConstraint(
                fields=("building", "level"),
                name="floor_level_once",
                violation_error_message="This building already has a floor at this level.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class Zone(Record):
    """Rooms that share use and ventilation: what a finding is about."""

    lies_in_field: ClassVar[str | None] = "floor"

    floor = models.ForeignKey(Floor, on_delete=models.PROTECT, related_name="zones")
    name = models.CharField(max_length=100)
    use = models.CharField(max_length=100, blank=True, help_text="For example: open-plan office, group rooms.")
    ventilation = models.CharField(max_length=200, blank=True, help_text="How the rooms are aired.")
    place_kind = models.CharField(
        "kind of place",
        max_length=20,
        choices=PlaceKind.choices,
        blank=True,
        help_text="Left empty: as the building.",
    )
    outline = outline_field()  # only where the ground its rooms cover is not the zone

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("floor", "name"),
                name="zone_name_once",
                violation_error_message="This floor already has a zone of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    @property
    def place(self) -> PlaceKind | None:
        """Its own kind of place, else its building's; None where nobody said."""
        said = self.place_kind or self.floor.building.place_kind
        return PlaceKind(said) if said else None


#: The largest halls have half of that.
MOST_AREA_M2, MOST_HEIGHT_M = 1_000_000, 500


class Room(Record):
    """A room of a zone."""

    lies_in_field: ClassVar[str | None] = "zone"
    zone = models.ForeignKey(Zone, on_delete=models.PROTECT, related_name="rooms")
    name = models.CharField(max_length=100)
    area_m2 = models.FloatField("floor area", null=True, blank=True, help_text="Square metres.")
    height_m = models.FloatField("room height", null=True, blank=True, help_text="Metres, floor to ceiling.")
    notes = models.TextField(blank=True, help_text="Furnishing, finishes, complaints.")
    outline = outline_field()

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("zone", "name"),
                name="room_name_once",
                violation_error_message="This zone already has a room of this name.",
            ),
            models.CheckConstraint(
                condition=(Q(area_m2__isnull=True) | Q(area_m2__gt=0)) & (Q(height_m__isnull=True) | Q(height_m__gt=0)),
                name="room_size_positive",
                violation_error_message="Area and height are above zero, or left empty.",
            ),
            models.CheckConstraint(
                condition=(Q(area_m2__isnull=True) | Q(area_m2__lte=MOST_AREA_M2))
                & (Q(height_m__isnull=True) | Q(height_m__lte=MOST_HEIGHT_M)),
                name="room_size_bounded",
                violation_error_message=f"No room is larger than {MOST_AREA_M2:,} m² or higher than {MOST_HEIGHT_M} m.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class SamplingPoint(Record):
    """A place and a height. A point in a room belongs to its zone; an outdoor point belongs to the site.

    On a plan a point has a position; an outdoor one also names the floor beside whose drawing it is shown.
    """

    route_word: ClassVar[str] = "point"

    class Kind(models.TextChoices):
        ROOM_AIR = "room_air", "Room air"
        ENCLOSED = "enclosed", "Enclosed space"
        SUPPLY_AIR = "supply_air", "Supply air"
        OUTDOOR = "outdoor", "Outdoor"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="points", editable=False)
    room = models.ForeignKey(Room, on_delete=models.PROTECT, related_name="points", null=True, blank=True)
    name = models.CharField(max_length=100)
    kind = models.CharField(max_length=20, choices=Kind.choices, default=Kind.ROOM_AIR)
    height_m = models.FloatField("height", default=1.2, help_text="Metres above the floor or ground.")
    place = models.CharField(max_length=200, blank=True, help_text="Where in the room, so that another finds it again.")
    # In metres on the floor's plan: x to the right, y down.
    x_m = models.FloatField(null=True, blank=True, editable=False, validators=ON_THE_PLAN)
    y_m = models.FloatField(null=True, blank=True, editable=False, validators=ON_THE_PLAN)
    beside = models.ForeignKey(
        Floor, on_delete=models.PROTECT, related_name="outdoor_points", null=True, blank=True, editable=False
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.CheckConstraint(
                condition=Q(x_m__isnull=True, y_m__isnull=True) | Q(x_m__isnull=False, y_m__isnull=False),
                name="point_position_whole",
                violation_error_message="A position on the plan has both x and y.",
            ),
            models.CheckConstraint(
                condition=Q(beside__isnull=True, room__isnull=False)
                | Q(room__isnull=True, beside__isnull=True, x_m__isnull=True)
                | Q(room__isnull=True, beside__isnull=False, x_m__isnull=False),
                name="point_beside_iff_drawn_outdoors",
                violation_error_message="An outdoor point on a plan names the floor it is drawn beside; no other does.",
            ),
            models.UniqueConstraint(
                fields=("room", "name"),
                condition=Q(room__isnull=False),
                name="point_name_once_in_room",
                violation_error_message="This room already has a point of this name.",
            ),
            models.UniqueConstraint(
                fields=("site", "name"),
                condition=Q(room__isnull=True),
                name="point_name_once_outdoors",
                violation_error_message="This site already has an outdoor point of this name.",
            ),
            models.CheckConstraint(
                condition=Q(kind="outdoor", room__isnull=True) | (~Q(kind="outdoor") & Q(room__isnull=False)),
                name="point_outdoor_iff_no_room",
                violation_error_message="An outdoor point has no room; every other point has one.",
            ),
            models.CheckConstraint(
                condition=Q(height_m__gte=0) & Q(height_m__lte=100),
                name="point_height_sensible",
                violation_error_message="The height is between 0 and 100 m.",
            ),
        )

    @property
    def lies_in(self) -> Record:
        return self.room or self.site

    def __str__(self) -> str:
        return f"{self.room.name}, {self.name}" if self.room else self.name

    def clean(self) -> None:
        self.set_site()

    def save(self, *args: object, **kwargs: object) -> None:
        self.set_site()
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    def set_site(self) -> None:
        """A point in a room is on the room's site: one door for both kinds."""
        if self.room_id and self.room:
            self.site = self.room.zone.floor.building.site
