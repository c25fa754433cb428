"""Drawings of real floors, in a number of queries that does not grow with floors, rooms or points."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import TypeVar

from django.db.models import F, Q
from django.db.models.functions import Coalesce
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Room, SamplingPoint, Zone
from campaigns.outlines.drawing import FloorDrawing, ImageIn, PointIn, RoomIn, ZoneIn, draw

Row = TypeVar("Row")


def drawings_of(floors: Iterable[Floor], *, with_image: bool = False) -> dict[int, FloorDrawing]:
    """The drawing of each floor, by the floor's id. Four queries at most.

    The floors must come from ``access``: nothing is asked here of who looks. Keys of zones, rooms and points in a
    drawing are their keys as strings. The plan image is left out unless asked for: pages that colour zones read
    better without it.
    """
    found = list(floors)
    ids = [floor.pk for floor in found]
    zones = _by_floor(Zone.objects.filter(floor__in=ids).annotate(on=F("floor_id")))
    rooms = _by_floor(Room.objects.filter(zone__floor__in=ids).select_related("zone").annotate(on=F("zone__floor_id")))
    points = _points(ids)
    plans = {plan.floor_id: plan for plan in FloorPlan.objects.filter(floor__in=ids)} if with_image else {}
    return {
        floor.pk: draw(
            floor.name,
            [ZoneIn(str(zone.key), zone.name, zone.outline) for zone in zones[floor.pk]],
            [RoomIn(str(room.key), room.name, str(room.zone.key), room.outline) for room in rooms[floor.pk]],
            points[floor.pk],
            _image(floor, plans),
            str(floor.key),
        )
        for floor in found
    }


def image_of(plan: FloorPlan, url: str) -> ImageIn | None:
    """Where the plan image lies on the floor's coordinates; None without an image or a scale."""
    scale = plan.metres_per_px
    if not plan.image or scale is None or plan.width_px is None or plan.height_px is None:
        return None
    return ImageIn(
        url, -plan.origin_x_px * scale, -plan.origin_y_px * scale, plan.width_px * scale, plan.height_px * scale
    )


def _image(floor: Floor, plans: Mapping[int, FloorPlan]) -> ImageIn | None:
    plan = plans.get(floor.pk)
    return image_of(plan, reverse("floor-plan-image", args=[floor.key])) if plan else None


def _points(floor_ids: list[int]) -> dict[int, list[PointIn]]:
    drawn_here = Q(room__zone__floor__in=floor_ids, x_m__isnull=False) | Q(beside__in=floor_ids)
    rows = SamplingPoint.objects.filter(drawn_here).annotate(on=Coalesce("room__zone__floor_id", "beside_id"))
    found: dict[int, list[PointIn]] = defaultdict(list)
    for point in rows.order_by("name", "pk"):
        at = PointIn(str(point.key), point.name, point.kind, point.x_m or 0.0, point.y_m or 0.0, point.height_m)
        found[point.on].append(at)
    return found


def _by_floor(rows: Iterable[Row]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = defaultdict(list)
    for row in rows:
        found[row.on].append(row)  # type: ignore[attr-defined]
    return found
