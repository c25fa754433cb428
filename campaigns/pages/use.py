"""When the places of a campaign are in use: what is said, and what is offered where nothing is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.urls import reverse

from campaigns.models import Building, Campaign, PlaceKind, UseTimetable, Zone
from campaigns.pages.chosen_criteria import Chosen
from campaigns.services.use_timetables import FIELDS, Place, UseInForce, use_in_force
from campaigns.services.usual_use import USUAL
from methods.averages.timetable_text import in_words, read

WHOLE = "Everything that has none of its own"


@dataclass(frozen=True)
class KindOffered:
    """The usual hours of a kind of place, to take with one click: ``code`` is what is sent."""

    code: str
    label: str
    hours: str

    @classmethod
    def of(cls, kind: PlaceKind) -> KindOffered:
        return cls(kind.value, kind.label, in_words(read(USUAL[kind])))


@dataclass(frozen=True)
class UseOffer:
    """What can be done for a place without a timetable: enter one, or take the usual one of one of ``kinds``."""

    name: str
    enter_url: str
    assume_url: str
    kinds: tuple[KindOffered, ...]


@dataclass(frozen=True)
class UseLine:
    """One place. ``word``: what it is; ``row``: its own timetable; ``otherwise``: whose counts without one."""

    name: str
    word: str
    row: UseTimetable | None
    otherwise: str
    offer: UseOffer | None


def asking(criteria: Sequence[Chosen]) -> list[str]:
    """The criteria of a campaign that are about occupied time, in words."""
    return [f"{chosen.label}: {chosen.limit.statistic}" for chosen in criteria if chosen.limit.occupied]


def lines(campaign: Campaign) -> list[UseLine]:
    """The campaign, each building, and its zones, in this order. Three queries."""
    in_force = use_in_force(campaign)
    zones = Zone.objects.filter(floor__building__site=campaign.site_id).select_related("floor__building")
    by_building: dict[int, list[Zone]] = {}
    for zone in zones.order_by("-floor__level", "name"):
        by_building.setdefault(zone.floor.building_id, []).append(zone)
    told = [_line(campaign, campaign, in_force.campaign, "not said")]
    whole = "as everywhere" if in_force.campaign else "not said"
    for building in campaign.site.buildings.all():
        own = in_force.buildings.get(building.pk)
        told.append(_line(campaign, building, own, whole))
        otherwise = "as the building" if own else whole
        told += [
            _line(campaign, zone, in_force.zones.get(zone.pk), otherwise) for zone in by_building.get(building.pk, ())
        ]
    return told


def _line(campaign: Campaign, place: Place, row: UseTimetable | None, otherwise: str) -> UseLine:
    floor = f"{place.floor}, " if isinstance(place, Zone) else ""
    offer = None if row else _offer(campaign, place)
    return UseLine(f"{floor}{_name(place)}", FIELDS[type(place)], row, otherwise, offer)


def _name(place: Place) -> str:
    return WHOLE if isinstance(place, Campaign) else str(place)


def offer_for(campaign: Campaign, zone: Zone, in_force: UseInForce | None = None) -> UseOffer | None:
    """For a zone without a timetable: its building's, where the building says what it is and the zone nothing else;
    else its own. None where it has one."""
    if (in_force or use_in_force(campaign)).of(zone) is not None:
        return None
    building = zone.floor.building
    return _offer(campaign, building if building.place_kind and not zone.place_kind else zone)


def _offer(campaign: Campaign, place: Place) -> UseOffer:
    word, query = FIELDS[type(place)], f"?campaign={campaign.key}"
    kind = _kind(place)
    return UseOffer(
        name=_name(place),
        enter_url=reverse(f"{word}-use-add", args=[place.key]) + query,
        assume_url=reverse(f"{word}-use-assume", args=[place.key]) + query,
        kinds=tuple(KindOffered.of(each) for each in ([kind] if kind else PlaceKind)),
    )


def _kind(place: Place) -> PlaceKind | None:
    if isinstance(place, Zone):
        return place.place
    said = place.place_kind if isinstance(place, Building) else ""
    return PlaceKind(said) if said else None
