"""Drawings of real floors, in a number of queries that does not grow with floors, rooms or points."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any

from django.db.models import Q
from django.db.models.functions import Coalesce
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Room, SamplingPoint, Zone
from campaigns.outlines.drawing import FloorDrawing, ImageIn, PointIn, RoomIn, ZoneIn, draw


def drawings_of(floors: Iterable[Floor], *, with_image: bool = False) -> dict[int, FloorDrawing]:
    """The drawing of each floor, by the floor's id. Four queries at most.

    The floors must come from ``access``: nothing is asked here of who looks. Keys of zones, rooms and points in a
    drawing are their keys as strings. The plan image is left out unless asked for: pages that colour zones read
    better without it.
    """
    found = list(floors)
    ids = [floor.pk for floor in found]
    zones, rooms, points = _zones(ids), _rooms(ids), _points(ids)
    plans = {plan.floor_id: plan for plan in FloorPlan.objects.filter(floor__in=ids)} if with_image else {}
    return {
        floor.pk: _drawn(
            floor.name,
            tuple(zones[floor.pk]),
            tuple(rooms[floor.pk]),
            tuple(points[floor.pk]),
            _image(floor, plans),
            str(floor.key),
        )
        for floor in found
    }


#: Shapes are joined and words fitted once for everything that a floor is drawn from; any change of it is drawn anew.
_drawn = lru_cache(maxsize=128)(draw)


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


def _zones(floor_ids: list[int]) -> dict[int, list[ZoneIn]]:
    rows = Zone.objects.filter(floor__in=floor_ids).values_list("floor", "key", "name", "outline")
    found: dict[int, list[ZoneIn]] = defaultdict(list)
    for floor, key, name, outline in rows:
        found[floor].append(ZoneIn(str(key), name, _fixed(outline)))
    return found


def _rooms(floor_ids: list[int]) -> dict[int, list[RoomIn]]:
    """Only those with an outline: the others are not drawn."""
    drawn = Room.objects.filter(zone__floor__in=floor_ids, outline__isnull=False)
    found: dict[int, list[RoomIn]] = defaultdict(list)
    for floor, key, name, zone, outline in drawn.values_list("zone__floor", "key", "name", "zone__key", "outline"):
        found[floor].append(RoomIn(str(key), name, str(zone), _fixed(outline)))
    return found


def _points(floor_ids: list[int]) -> dict[int, list[PointIn]]:
    drawn_here = Q(room__zone__floor__in=floor_ids, x_m__isnull=False) | Q(beside__in=floor_ids)
    rows = SamplingPoint.objects.filter(drawn_here).annotate(on=Coalesce("room__zone__floor_id", "beside_id"))
    found: dict[int, list[PointIn]] = defaultdict(list)
    there = rows.order_by("name", "pk").values_list("on", "key", "name", "kind", "x_m", "y_m", "height_m")
    for on, key, name, kind, x_m, y_m, height_m in there:
        found[on].append(PointIn(str(key), name, kind, x_m or 0.0, y_m or 0.0, height_m))
    return found


def _fixed(outline: Any) -> Any:
    """The outline as tuples, so that a drawing can be found again by what it is made of."""
    return tuple(map(_fixed, outline)) if isinstance(outline, list) else outline
