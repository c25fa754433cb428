"""Which points a campaign means to measure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.core.exceptions import ValidationError

from campaigns.models import Campaign, PlannedPoint, SamplingPoint
from campaigns.services.locks import hold_campaign
from campaigns.services.records import all_or_nothing

OUTDOORS = "Outdoors"
ELSEWHERE = "One of these points is on another site than the campaign."


@dataclass
class PointGroup:
    """Points that belong together: those of a zone, or those outdoors."""

    name: str
    where: str
    points: list[SamplingPoint]


def grouped(points: Iterable[SamplingPoint]) -> list[PointGroup]:
    """Points by zone, from the top floor down, outdoor points last.

    ``points`` come with room, zone, floor and building fetched.
    """
    indoors: dict[int, PointGroup] = {}
    outdoors = PointGroup(OUTDOORS, "", [])
    for point in sorted(points, key=_order):
        if point.room is None:
            outdoors.points.append(point)
            continue
        zone = point.room.zone
        group = indoors.setdefault(zone.pk, PointGroup(zone.name, f"{zone.floor.building}, {zone.floor}", []))
        group.points.append(point)
    return [*indoors.values(), *([outdoors] if outdoors.points else [])]


def plan(campaign: Campaign, points: Iterable[SamplingPoint], places: Mapping[int, int]) -> tuple[int, int]:
    """Choose the points and set their order as one whole. Returns how many were added and taken out."""
    with all_or_nothing(PlannedPoint):
        changed = choose(campaign, points)
        in_order(campaign, places)
    return changed


def choose(campaign: Campaign, points: Iterable[SamplingPoint]) -> tuple[int, int]:
    """Make ``points`` the plan. Returns how many were added and taken out; each is in the history.

    New ones come after those that are there, from the top floor down. Holds the campaign. Raises ValidationError.
    """
    wanted = {point.pk: point for point in points}
    if any(point.site_id != campaign.site_id for point in wanted.values()):
        raise ValidationError(ELSEWHERE)
    with all_or_nothing(PlannedPoint):
        hold_campaign(campaign)
        held = {planned.point_id: planned for planned in campaign.planned_points.all()}
        for gone in held.keys() - wanted.keys():
            held[gone].delete()
        last = max((planned.position for planned in held.values()), default=0)
        new = sorted((wanted[pk] for pk in wanted.keys() - held.keys()), key=_order)
        for position, point in enumerate(new, start=last + 1):
            PlannedPoint.objects.create(campaign=campaign, point=point, position=position)
    return len(new), len(held.keys() - wanted.keys())


def in_order(campaign: Campaign, places: Mapping[int, int]) -> int:
    """Set the order in which points are visited: point id → number. Returns how many changed; in the history."""
    changed = 0
    with all_or_nothing(PlannedPoint):
        hold_campaign(campaign)
        for planned in campaign.planned_points.all():
            place = places.get(planned.point_id, planned.position)
            if place != planned.position:
                planned.position = place
                planned.save(update_fields=["position"])
                changed += 1
    return changed


def _order(point: SamplingPoint) -> tuple[object, ...]:
    if point.room is None:
        return (1, "", 0, "", "", point.name)
    zone = point.room.zone
    return (0, zone.floor.building.name, -zone.floor.level, zone.name, point.room.name, point.name)
