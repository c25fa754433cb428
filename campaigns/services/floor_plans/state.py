"""A floor as data for the drawing page: plan, zones, rooms, points, and what is doubtful about them."""

from __future__ import annotations

from typing import Any

from django.db.models import Q
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Room, SamplingPoint, Zone
from methods.floorplans import overlaps

#: Pairs of rooms that are named; of some hundred rooms on each other there are hundreds of thousands.
MOST_TOLD = 20
Json = dict[str, Any]


def plan_of(floor: Floor) -> FloorPlan | None:
    return FloorPlan.objects.filter(floor=floor).first()


def state_of(floor: Floor) -> Json:
    """Everything the drawing page shows, in four queries. Metres on the floor's coordinates; pixels for the image.

    ``version`` goes back with what is saved; 0 until somebody saved a first time.
    """
    plan = plan_of(floor)
    zones = Zone.objects.filter(floor=floor)
    rooms = Room.objects.filter(zone__floor=floor).select_related("zone")
    return {
        "version": plan.version if plan else 0,
        "image": _image(floor, plan),
        "scale": _scale(plan),
        "origin": {"x_px": plan.origin_x_px, "y_px": plan.origin_y_px} if plan else {"x_px": 0, "y_px": 0},
        "zones": [{"id": str(zone.key), "name": zone.name, "outline": zone.outline} for zone in zones],
        "rooms": [_room(room) for room in rooms],
        "points": [_point(point) for point in points_on(floor).select_related("room")],
    }


def points_on(floor: Floor) -> Any:
    """Points in the floor's rooms, outdoor points drawn beside it, and outdoor points not drawn anywhere yet."""
    site = floor.building.site_id
    outdoors = Q(room__isnull=True, site=site) & (Q(beside=floor) | Q(beside__isnull=True))
    return SamplingPoint.objects.filter(Q(room__zone__floor=floor) | outdoors)


def doubts(floor: Floor) -> list[str]:
    """What somebody should look at although it can be kept: rooms on the same ground."""
    rooms = {str(r.key): r for r in Room.objects.filter(zone__floor=floor, outline__isnull=False)}
    found = overlaps({key: room.outline for key, room in rooms.items()})
    told = [
        f"{rooms[first].name} and {rooms[second].name} overlap by {area:.1f} m²."
        for first, second, area in found[:MOST_TOLD]
    ]
    more = len(found) - MOST_TOLD
    return [*told, f"At least {more:,} more pairs of rooms overlap: were they drawn twice?"] if more > 0 else told


def _image(floor: Floor, plan: FloorPlan | None) -> Json | None:
    if plan is None or not plan.image:
        return None
    # The hash in the query makes a new image a new address for the browser.
    url = f"{reverse('floor-plan-image', args=[floor.key])}?v={plan.sha256[:12]}"
    return {"url": url, "width_px": plan.width_px, "height_px": plan.height_px, "name": plan.image_name}


def _scale(plan: FloorPlan | None) -> Json | None:
    if plan is None or plan.scale_length_m is None:
        return None
    return {
        "x1": plan.scale_x1_px,
        "y1": plan.scale_y1_px,
        "x2": plan.scale_x2_px,
        "y2": plan.scale_y2_px,
        "length_m": plan.scale_length_m,
    }


def _room(room: Room) -> Json:
    return {
        "id": str(room.key),
        "name": room.name,
        "zone": str(room.zone.key),
        "outline": room.outline,
        "area_m2": room.area_m2,
        "height_m": room.height_m,
    }


def _point(point: SamplingPoint) -> Json:
    return {
        "id": str(point.key),
        "name": point.name,
        "kind": point.kind,
        "room": str(point.room.key) if point.room else None,
        "height_m": point.height_m,
        "place": point.place,
        "x_m": point.x_m,
        "y_m": point.y_m,
    }
