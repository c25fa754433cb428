"""Drawings of real floors, in a number of queries that does not grow with floors, rooms or points."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from django.db.models import Q, TextField
from django.db.models.functions import Cast, Coalesce
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Room, SamplingPoint, Zone
from campaigns.outlines.drawing import FloorDrawing, ImageIn, PointIn, RoomIn, ZoneIn, draw

#: What a floor is drawn from, as it comes from the database: outlines as text.
Rows = tuple[tuple[Any, ...], ...]
AS_TEXT = Cast("outline", TextField())


def drawings_of(
    floors: Iterable[Floor], *, with_image: bool = False, with_points: bool = False
) -> dict[int, FloorDrawing]:
    """The drawing of each floor, by the floor's id. Four queries at most.

    The floors must come from ``access``: nothing is asked here of who looks. Keys of zones, rooms and points in a
    drawing are their keys as strings. The plan image and the points are left out unless asked for: pages that colour
    zones read better without them, and room would be kept for what is not drawn.
    """
    found = list(floors)
    ids = [floor.pk for floor in found]
    zones, rooms, points = _zones(ids), _rooms(ids), _points(ids) if with_points else {}
    plans = {plan.floor_id: plan for plan in FloorPlan.objects.filter(floor__in=ids)} if with_image else {}
    return {
        floor.pk: _drawn(
            floor.name,
            tuple(zones[floor.pk]),
            tuple(rooms[floor.pk]),
            tuple(points.get(floor.pk, ())),
            _image(floor, plans),
            str(floor.key),
        )
        for floor in found
    }


@lru_cache(maxsize=128)
def _drawn(name: str, zones: Rows, rooms: Rows, points: Rows, image: ImageIn | None, key: str) -> FloorDrawing:
    """Outlines are read, shapes joined and words fitted once for everything that a floor is drawn from; any change of
    it, by whatever way, is drawn anew."""
    return draw(
        name,
        [ZoneIn(str(zone), called, outline and json.loads(outline)) for zone, called, outline in zones],
        [RoomIn(str(room), called, str(zone), json.loads(outline)) for room, called, zone, outline in rooms],
        [PointIn(str(point), called, kind, x or 0.0, y or 0.0, height) for point, called, kind, x, y, height in points],
        image,
        key,
    )


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


def _zones(floor_ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    rows = Zone.objects.filter(floor__in=floor_ids)
    return _by_floor(rows.values_list("floor", "key", "name", AS_TEXT))


def _rooms(floor_ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    """Only those with an outline: the others are not drawn."""
    rows = Room.objects.filter(zone__floor__in=floor_ids, outline__isnull=False)
    return _by_floor(rows.values_list("zone__floor", "key", "name", "zone__key", AS_TEXT))


def _points(floor_ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    drawn_here = Q(room__zone__floor__in=floor_ids, x_m__isnull=False) | Q(beside__in=floor_ids)
    rows = SamplingPoint.objects.filter(drawn_here).annotate(on=Coalesce("room__zone__floor_id", "beside_id"))
    there = rows.order_by("name", "pk")
    return _by_floor(there.values_list("on", "key", "name", "kind", "x_m", "y_m", "height_m"))


def _by_floor(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[tuple[Any, ...]]]:
    """``rows`` begin with the floor they belong to."""
    found: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for floor, *row in rows:
        found[floor].append(tuple(row))
    return found
