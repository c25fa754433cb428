"""Forms for sites down to sampling points, and several rooms at once."""

from __future__ import annotations

import zoneinfo
from functools import cache
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns import access
from campaigns.forms.base import Grouped, OwnForm, RowForm
from campaigns.models import Building, Floor, PlaceKind, Room, SamplingPoint, Site, User, Zone
from campaigns.services import sampling_points
from campaigns.services.rooms import add_rooms, read_rooms
from campaigns.services.sites import change_site, what_a_new_client_means

#: Regions of the IANA time zone database that are places; the rest are old names.
REGIONS = ("Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific")
Choices = list[tuple[str, Any]]


@cache
def zone_choices() -> Choices:
    names = sorted(zoneinfo.available_timezones())
    regions = [(region, [(n, n) for n in names if n.startswith(f"{region}/")]) for region in REGIONS]
    return [("", "Choose the zone of the place"), ("UTC", "UTC"), *regions]


class TimeZoneField(forms.ChoiceField):
    def __init__(self) -> None:
        super().__init__(
            choices=zone_choices,
            label="Time zone",
            help_text="Loggers set to local time are read in this zone.",
            error_messages={"invalid_choice": "“%(value)s” is not an IANA time zone. An example: Europe/Lisbon."},
        )

    def valid_value(self, value: Any) -> bool:
        return value in zoneinfo.available_timezones()


class SiteForm(OwnForm[Site]):
    time_zone = TimeZoneField()
    client_confirmed = forms.BooleanField(label="If the client changes: I know what that means", required=False)

    fieldsets = (
        ("Site", "", ("organisation", "name", "client", "client_confirmed", "address")),
        ("Clock and air pressure", "", ("time_zone", "altitude_m")),
        ("Notes", "", ("notes",)),
    )

    class Meta:
        model = Site
        fields = ("organisation", "name", "client", "address", "time_zone", "altitude_m", "notes")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        latest = access.visible(person, Site).order_by("-created_at").first()
        if self.instance.pk is None and latest is not None:
            self.initial["time_zone"] = latest.time_zone
        means = what_a_new_client_means(self.instance) if self.instance.pk else ""
        self.fields["client_confirmed"].help_text = means
        if not means:
            del self.fields["client_confirmed"]

    def keep(self) -> Site:
        if self.adding:
            return super().keep()
        confirmed = bool(self.cleaned_data.get("client_confirmed"))
        return change_site(self.instance, client_confirmed=confirmed, **self.changed())


def say_nothing(form: forms.BaseForm, words: str) -> None:
    """What an empty kind of place means."""
    field = form.fields["place_kind"]
    assert isinstance(field, forms.ChoiceField)
    field.choices = [("", words), *PlaceKind.choices]


class BuildingForm(RowForm[Building]):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_nothing(self, "not said")

    class Meta:
        model = Building
        fields = ("name", "place_kind")


class FloorForm(RowForm[Floor]):
    class Meta:
        model = Floor
        fields = ("name", "level")


class ZoneForm(RowForm[Zone]):
    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        say_nothing(self, "as the building")

    class Meta:
        model = Zone
        fields = ("name", "use", "ventilation", "place_kind")


class RoomForm(RowForm[Room]):
    class Meta:
        model = Room
        fields = ("name", "area_m2", "height_m", "notes")


def indoor_kinds() -> Choices:
    """Kinds a point in a room may have."""
    return [choice for choice in SamplingPoint.Kind.choices if choice[0] != SamplingPoint.Kind.OUTDOOR]


class PointForm(RowForm[SamplingPoint]):
    """A point in a room, or, on a row whose kind is outdoor, a point outdoors."""

    class Meta:
        model = SamplingPoint
        fields = ("name", "kind", "height_m", "place")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        if self.instance.room_id is None:
            self.instance.kind = SamplingPoint.Kind.OUTDOOR
            del self.fields["kind"]
            self.fields["place"].help_text = "Where outdoors, so that another finds it again."
        else:
            self.fields["kind"] = forms.ChoiceField(choices=indoor_kinds(), initial=SamplingPoint.Kind.ROOM_AIR)

    def keep(self) -> SamplingPoint:
        if not self.adding:
            return super().keep()
        point, entered = self.instance, self.values("name", "kind", "height_m", "place")
        if point.room is None:
            return sampling_points.make_outdoors(point.site, **entered)
        return sampling_points.make_in_room(point.room, **entered)


class RoomsForm(Grouped, forms.Form):
    """Several rooms of one zone, one per line."""

    lines = forms.CharField(
        label="Rooms",
        widget=forms.Textarea(attrs={"rows": 10, "placeholder": "Reading room; 34.5; 2.8\nOffice 12; 16; 2.6\nStore"}),
        help_text="One per line: name; floor area in m²; height in m. Area and height may be left out.",
    )
    with_points = forms.BooleanField(
        label="Give each room a sampling point",
        required=False,
        help_text="Point P1, room air, 1.2 m above the floor. Say later where exactly it is.",
    )

    def __init__(self, *args: Any, zone: Zone, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.zone = zone

    def clean_lines(self) -> list[Room]:
        rooms, problems = read_rooms(self.zone, self.cleaned_data["lines"])
        if problems:
            raise ValidationError(problems)
        return rooms

    def stored(self) -> int:
        """Save all rooms or none; the number saved, 0 with reasons at the field if it cannot be."""
        if not self.is_valid():
            return 0
        rooms: list[Room] = self.cleaned_data["lines"]
        try:
            add_rooms(rooms, with_points=self.cleaned_data["with_points"])
        except ValidationError as refused:
            self.add_error("lines", refused)
            return 0
        return len(rooms)
