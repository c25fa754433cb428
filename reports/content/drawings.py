"""A floor's drawing as it was when the report was signed: shapes without points, plan image and keys of rooms. Pure."""

from __future__ import annotations

from dataclasses import astuple, dataclass

from methods.floorplans.drawing import FloorDrawing, Label, RoomShape, ZoneShape


@dataclass(frozen=True, slots=True)
class ReportedLabel:
    """Where a name stands. x, y: its centre; free: the width free for it there; size: height of its letters; all m."""

    x: float
    y: float
    free: float
    size: float


@dataclass(frozen=True, slots=True)
class DrawnRoom:
    """shape: ``points`` of an SVG polygon, metres."""

    name: str
    shape: str
    label: ReportedLabel
    area_m2: float


@dataclass(frozen=True, slots=True)
class DrawnZone:
    """shape: ``d`` of an SVG path, metres. key: of its zone."""

    name: str
    shape: str
    label: ReportedLabel
    area_m2: float
    key: str


@dataclass(frozen=True, slots=True)
class ReportedDrawing:
    """view_box: of the SVG. frame: x, y, width, height. Everything in metres."""

    view_box: str
    frame: tuple[float, float, float, float]
    zones: tuple[DrawnZone, ...]
    rooms: tuple[DrawnRoom, ...]


def of_floor(drawing: FloorDrawing) -> ReportedDrawing | None:
    """None for a floor on which no zone is drawn."""
    if not drawing.zones:
        return None
    return ReportedDrawing(
        view_box=drawing.view_box,
        frame=(drawing.x, drawing.y, drawing.width, drawing.height),
        zones=tuple(DrawnZone(z.name, z.path, _kept(z.label), z.area_m2, z.key) for z in drawing.zones),
        rooms=tuple(DrawnRoom(r.name, r.points, _kept(r.label), r.area_m2) for r in drawing.rooms),
    )


def floor_again(name: str, held: ReportedDrawing) -> FloorDrawing:
    """The drawing again, ready for ``methods.floorplans.drawing.dress``."""
    zones = tuple(ZoneShape(z.key, z.name, z.shape, _drawn(z.label), z.area_m2) for z in held.zones)
    rooms = tuple(RoomShape("", r.name, "", r.shape, _drawn(r.label), r.area_m2) for r in held.rooms)
    return FloorDrawing(name, held.view_box, *held.frame, zones, rooms)


def _kept(label: Label) -> ReportedLabel:
    return ReportedLabel(*astuple(label))


def _drawn(label: ReportedLabel) -> Label:
    return Label(label.x, label.y, label.free, label.size)
