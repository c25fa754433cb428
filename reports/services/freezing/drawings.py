"""The floors' drawings as a report keeps them: what is built or drawn otherwise later does not show in it. Pure."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from methods.floorplans.drawing import FloorDrawing, Label, RoomShape, ZoneShape

Json = dict[str, Any]


def frozen(drawing: FloorDrawing) -> Json | None:
    """Shapes without points, plan image and keys of rooms; None for a floor on which no zone is drawn."""
    if not drawing.zones:
        return None
    return {
        "view_box": drawing.view_box,
        "frame": [drawing.x, drawing.y, drawing.width, drawing.height],
        "zones": [_shape(zone) | {"key": zone.key} for zone in drawing.zones],
        "rooms": [_shape(room) for room in drawing.rooms],
    }


def thawed(name: str, held: Json) -> FloorDrawing:
    """The drawing again, ready for ``methods.floorplans.dress``."""
    x, y, width, height = held["frame"]
    zones = tuple(ZoneShape(z["key"], z["name"], z["shape"], Label(**z["label"]), z["area_m2"]) for z in held["zones"])
    rooms = tuple(RoomShape("", r["name"], "", r["shape"], Label(**r["label"]), r["area_m2"]) for r in held["rooms"])
    return FloorDrawing(name, held["view_box"], x, y, width, height, zones, rooms)


def _shape(one: ZoneShape | RoomShape) -> Json:
    shape = one.path if isinstance(one, ZoneShape) else one.points
    return {"name": one.name, "shape": shape, "label": asdict(one.label), "area_m2": one.area_m2}
