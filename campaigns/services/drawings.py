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

from campaigns.models import Floor, FloorPlan, SamplingPoint, Zone
from methods.floorplans.drawing import FloorDrawing, ImageIn, PointIn, RoomIn, ZoneIn, draw

#: What a floor is drawn from, as it comes from the database: outlines as text.
Rows = tuple[tuple[Any, ...], ...]


def drawings_of(
    floors: Iterable[Floor], *, with_image: bool = False, with_points: bool = False
) -> dict[int, FloorDrawing]:
    """The drawing of each floor, by the floor's id. Three queries at most.

    The floors must come from ``access``: nothing is asked here of who looks. Keys of zones, rooms and points in a
    drawing are their keys as strings. The plan image and the points are left out unless asked for: pages that colour
    zones read better without them, and room would be kept for what is not drawn.
    """
    drawn_floors = list(floors)
    ids = [floor.pk for floor in drawn_floors]
    grounds, points = _grounds(ids), _points(ids) if with_points else {}
    plans = {plan.floor_id: plan for plan in FloorPlan.objects.filter(floor__in=ids)} if with_image else {}
    return {
        floor.pk: _drawn(
            floor.name,
            tuple(grounds[floor.pk]),
            tuple(points.get(floor.pk, ())),
            _image(floor, plans),
            str(floor.key),
        )
        for floor in drawn_floors
    }


@lru_cache(maxsize=128)
def _drawn(name: str, grounds: Rows, points: Rows, image: ImageIn | None, key: str) -> FloorDrawing:
    """Outlines are read, shapes joined and words fitted once for everything that a floor is drawn from; any change of
    it, by whatever way, is drawn anew."""
    zones: dict[str, ZoneIn] = {}
    rooms: list[RoomIn] = []
    for zone, called, outline, room, room_called, room_outline in grounds:
        zones.setdefault(str(zone), ZoneIn(str(zone), called, outline and json.loads(outline)))
        if room_outline is not None:  # the others are not drawn
            rooms.append(RoomIn(str(room), room_called, str(zone), json.loads(room_outline)))
    return draw(
        name,
        list(zones.values()),
        rooms,
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


def _grounds(floor_ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    """Zones, each with every room of it, or with none."""
    rows = Zone.objects.filter(floor__in=floor_ids).order_by("name", "pk", "rooms__name", "rooms__pk")
    outlines = [Cast(of, TextField()) for of in ("outline", "rooms__outline")]
    return _by_floor(rows.values_list("floor", "key", "name", outlines[0], "rooms__key", "rooms__name", outlines[1]))


def _points(floor_ids: list[int]) -> dict[int, list[tuple[Any, ...]]]:
    drawn_here = Q(room__zone__floor__in=floor_ids, x_m__isnull=False) | Q(beside__in=floor_ids)
    rows = SamplingPoint.objects.filter(drawn_here).annotate(on=Coalesce("room__zone__floor_id", "beside_id"))
    there = rows.order_by("name", "pk")
    return _by_floor(there.values_list("on", "key", "name", "kind", "x_m", "y_m", "height_m"))


def _by_floor(rows: Iterable[tuple[Any, ...]]) -> dict[int, list[tuple[Any, ...]]]:
    """``rows`` begin with the floor they belong to."""
    by_floor: dict[int, list[tuple[Any, ...]]] = defaultdict(list)
    for floor, *row in rows:
        by_floor[floor].append(tuple(row))
    return by_floor
