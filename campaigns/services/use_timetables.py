"""When places are in use: made, changed, assumed, and which timetable counts where. All raise ValidationError; then
nothing has changed. ``removal.remove`` takes one away."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db.models import Q

from campaigns.models import Building, Campaign, PlaceKind, User, UseTimetable, Zone
from campaigns.services.records import all_or_nothing, current, save_changed, save_new
from campaigns.services.usual_use import NOTE, USUAL

Place = Campaign | Building | Zone
FIELDS: dict[type[Place], str] = {Campaign: "campaign", Building: "building", Zone: "zone"}


class UseChanges(TypedDict, total=False):
    """What can be changed: ``hours`` as ``methods.averages.timetable_text`` reads them, ``origin``: one of
    ``UseTimetable.Origin``."""

    hours: str
    origin: str
    note: str


def make(place: Place, by: User | None, **entered: Unpack[UseChanges]) -> UseTimetable:
    """Of a place that has none."""
    return save_new(UseTimetable(**{FIELDS[type(place)]: place}, by=by, **entered))


def change(row: UseTimetable, by: User | None, **entered: Unpack[UseChanges]) -> UseTimetable:
    """Set what is given. Hours that are others are no longer assumed, unless that is said again."""
    with all_or_nothing(UseTimetable):
        stands = current(row)
        if stands.is_assumed and "origin" not in entered and entered.get("hours", stands.hours) != stands.hours:
            entered["origin"] = UseTimetable.Origin.TOLD
        return save_changed(stands, by=by, **entered)


def assume(places: Iterable[tuple[Place, PlaceKind]], by: User | None) -> list[UseTimetable]:
    """The usual time of use of each, marked as assumed; all or none."""
    with all_or_nothing(UseTimetable):
        return [
            make(
                place,
                by,
                hours=USUAL[kind],
                origin=UseTimetable.Origin.ASSUMED,
                note=NOTE.format(kind=kind.label.lower()),
            )
            for place, kind in places
        ]


@dataclass(frozen=True)
class UseInForce:
    """The timetables of a campaign: its own, and by id those of buildings and zones of its site."""

    campaign: UseTimetable | None
    buildings: dict[int, UseTimetable]
    zones: dict[int, UseTimetable]

    def of(self, zone: Zone) -> UseTimetable | None:
        """That of the zone, else of its building, else of the campaign."""
        return self.zones.get(zone.pk) or self.buildings.get(zone.floor.building_id) or self.campaign


def use_in_force(campaign: Campaign) -> UseInForce:
    """One query."""
    of_site = Q(site=campaign.site_id) & (Q(campaign__isnull=True) | Q(campaign=campaign.pk))
    rows = list(UseTimetable.objects.filter(of_site).select_related("zone", "building", "campaign"))
    return UseInForce(
        campaign=next((row for row in rows if row.campaign_id), None),
        buildings={row.building_id: row for row in rows if row.building_id},
        zones={row.zone_id: row for row in rows if row.zone_id},
    )


def kind_or_refused(text: str) -> PlaceKind:
    """The kind of place of this code. Raises ValidationError."""
    if text not in PlaceKind.values:
        raise ValidationError("Say what kind of place it is.")
    return PlaceKind(text)
