"""A floor as shapes ready to be drawn: what ``templates/parts/floor_plan.html`` takes.

``draw`` makes the shapes from outlines; ``dress`` says how each zone looks on one page. Both are pure, and pages get
drawings of real floors from ``campaigns.services.drawings.drawings_of``.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from shapely import LineString, Polygon
from shapely import Point as At

from methods.floorplans.shape import Outline, Point, corners, faults, label_of
from methods.floorplans.union import Ring, coarse, svg_path, union

MARGIN = 0.03  # of the longer side, around everything
GLYPH = 0.56  # mean width of a letter, in letter heights
LARGEST, SMALLEST = 1 / 38, 1 / 80  # letter height as a share of the drawing's width: readable, and not shouting
#: Corners of all rooms of a drawing together, and of one at least where they are too many.
MOST_DRAWN_CORNERS, LEAST_CORNERS = 20_000, 16
SPARE_M = 0.3  # kept free between a word and the walls
#: By key of what is drawn, how it looks on a page.
Looks = Mapping[str, Mapping[str, Any]]


@dataclass(frozen=True)
class RoomIn:
    key: str
    name: str
    zone: str
    outline: Outline | None


@dataclass(frozen=True)
class ZoneIn:
    """outline: its own, or None for the ground its rooms cover."""

    key: str
    name: str
    outline: Outline | None = None


@dataclass(frozen=True)
class PointIn:
    key: str
    name: str
    kind: str
    x_m: float
    y_m: float
    height_m: float


@dataclass(frozen=True)
class ImageIn:
    """A plan image lying under the drawing; x, y, width, height in metres."""

    url: str
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Label:
    """Where words go: centre in metres, the width free for them there, and letter height fitting them."""

    x: float
    y: float
    free: float
    size: float


@dataclass(frozen=True)
class Line:
    """One line of a name: its baseline below the label's centre, in letter heights."""

    text: str
    dy: float


@dataclass(frozen=True)
class RoomShape:
    """points: for an SVG polygon. lines: the name, broken where it does not fit between the walls. label: where it
    stands; aside: where it stands when the middle of the room is needed for a point. look: see ``dress``; None: it is
    not painted."""

    key: str
    name: str
    zone: str
    points: str
    label: Label
    area_m2: float
    lines: tuple[Line, ...] = ()
    aside: Label | None = None
    look: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class ZoneShape:
    """path: ``d`` of an SVG path, fill-rule evenodd. look: see ``dress``; None draws the outline alone. by_room: its
    rooms are painted, and it is not."""

    key: str
    name: str
    path: str
    label: Label
    area_m2: float
    look: Mapping[str, Any] | None = None
    by_room: bool = False


@dataclass(frozen=True)
class FloorDrawing:
    """Everything in metres. ``undrawn`` are (key, name) of zones without any outline: pages list them in words."""

    name: str
    view_box: str
    x: float
    y: float
    width: float
    height: float
    zones: tuple[ZoneShape, ...] = ()
    rooms: tuple[RoomShape, ...] = ()
    points: tuple[PointIn, ...] = ()
    undrawn: tuple[tuple[str, str], ...] = ()
    image: ImageIn | None = None
    key: str = ""

    @property
    def is_empty(self) -> bool:
        return not self.zones and not self.rooms and self.image is None

    @property
    def letter(self) -> float:
        """Letter height of small words, in metres."""
        return round(self.width * SMALLEST, 3)

    @property
    def dot(self) -> float:
        """Radius of a point's mark, in metres."""
        return round(self.width / 160, 3)


def draw(
    name: str,
    zones: Sequence[ZoneIn],
    rooms: Sequence[RoomIn],
    points: Sequence[PointIn] = (),
    image: ImageIn | None = None,
    key: str = "",
) -> FloorDrawing:
    """The floor's shapes. Rooms without a usable outline are not drawn; zones without any are in ``undrawn``."""
    drawn = [room for room in rooms if room.outline and not faults(room.outline)]
    corners_each = max(LEAST_CORNERS, MOST_DRAWN_CORNERS // max(1, len(drawn)))
    grounds = {zone.key: _ground(zone, drawn) for zone in zones}
    x, y, width, height = _frame([c for room in drawn for c in corners(room.outline)], grounds, points, image)
    return FloorDrawing(
        name=name,
        key=key,
        view_box=f"{x:.3f} {y:.3f} {width:.3f} {height:.3f}",
        x=x,
        y=y,
        width=width,
        height=height,
        zones=tuple(_zone(zone, grounds[zone.key], width) for zone in zones if grounds[zone.key]),
        rooms=tuple(_room(room, width, corners_each) for room in drawn),
        points=tuple(points),
        undrawn=tuple((zone.key, zone.name) for zone in zones if not grounds[zone.key]),
        image=image,
    )


def dress(drawing: FloorDrawing, looks: Looks, rooms: Mapping[str, Looks] | None = None) -> FloorDrawing:
    """The drawing with a look for each zone, by the zone's key (a string), and for its rooms, by zone and room.

    A look is what ``templates/parts/zone_cell.html`` takes for the same zone: {name, url, measured, value, unit,
    fraction, verdict, said}. Without ``measured`` the zone is hatched; a zone without a look is only outlined. Letters
    are made to fit the name and the value. Of a room: {url, measured, number, fraction, verdict, sentence}. A zone is
    painted by its rooms where several are drawn, and every one that was measured is among them.
    """
    by_room = {zone: of_zone for zone, of_zone in (rooms or {}).items() if _is_drawn_by_room(drawing, zone, of_zone)}
    zones = []
    for zone in drawing.zones:
        look = looks.get(zone.key)
        words = (zone.name, f"{look.get('value', '')} {look.get('unit', '')}") if look else (zone.name,)
        label = _sized(zone.label, words, drawing.width)
        zones.append(replace(zone, look=look, label=label, by_room=zone.key in by_room))
    painted = [replace(room, look=by_room.get(room.zone, {}).get(room.key)) for room in drawing.rooms]
    return replace(drawing, zones=tuple(zones), rooms=tuple(painted))


def _is_drawn_by_room(drawing: FloorDrawing, zone: str, looks: Looks) -> bool:
    drawn = {room.key for room in drawing.rooms if room.zone == zone and room.key in looks}
    return len(drawn) > 1 and all(key in drawn for key, look in looks.items() if look["measured"])


def _ground(zone: ZoneIn, drawn: Iterable[RoomIn]) -> list[Ring]:
    if zone.outline and not faults(zone.outline):
        return union([zone.outline])
    return union([room.outline for room in drawn if room.zone == zone.key and room.outline])


def _zone(zone: ZoneIn, ground: list[Ring], width: float) -> ZoneShape:
    largest = Polygon(ground[0].outer, ground[0].holes)
    area = sum(ring.area_m2 for ring in ground)
    return ZoneShape(zone.key, zone.name, svg_path(ground), _label(largest, (zone.name,), width), round(area, 2))


def _room(room: RoomIn, width: float, most: int) -> RoomShape:
    """With at most some ``most`` corners: a page carries only so many of all rooms."""
    assert room.outline is not None
    shape = Polygon(corners(room.outline))
    shown = coarse(shape, most).exterior if len(shape.exterior.coords) > most + 1 else shape.exterior
    points = " ".join(f"{x:.3f},{y:.3f}" for x, y in shown.coords[:-1])
    # Two words side by side read better than one over the other, so only a name that does not fit is broken.
    label = _label(shape, (room.name,), width)
    lines = _broken(room.name, label)
    words = [line.text for line in lines]
    label = _sized(label, words, width)
    aside = _aside(shape, label, words)
    return RoomShape(room.key, room.name, room.zone, points, label, round(float(shape.area), 2), lines, aside)


def _label(shape: Polygon, words: Sequence[str], width: float) -> Label:
    return _sized(_level(shape, *label_of(shape)), words, width)


def _aside(shape: Polygon, label: Label, words: Sequence[str]) -> Label:
    """The label above the middle, or below it where only there is room enough; where it is if neither has."""
    needed = max(map(len, words), default=0) * GLYPH * label.size
    lift = label.size * (0.6 * len(words) + 0.3)
    for y in (label.y - lift, label.y + lift):
        edge = y + math.copysign(0.6 * len(words) * label.size, y - label.y)  # the line nearest the wall must fit too
        level, far = _level(shape, label.x, y), _level(shape, label.x, edge)
        if min(level.free, far.free) + SPARE_M >= needed:
            return replace(level, size=label.size)
    return label


def _level(shape: Polygon, x: float, y: float) -> Label:
    """The middle of the floor between the walls left and right of (x, y), and how wide it is there."""
    west, _, east, _ = shape.bounds
    here = shape.intersection(LineString([(west - 1, y), (east + 1, y)]))
    pieces = [part for part in getattr(here, "geoms", [here]) if part.length and part.distance(At(x, y)) < 0.01]
    if not pieces:
        return Label(round(x, 3), round(y, 3), 0.0, 0.0)
    left, _, right, _ = pieces[0].bounds
    return Label(round((left + right) / 2, 3), round(y, 3), round(max(right - left - SPARE_M, 0.0), 3), 0.0)


def _sized(label: Label, words: Sequence[str], width: float) -> Label:
    longest = max((len(word) for word in words), default=1) or 1
    size = min(max(label.free / (GLYPH * longest), width * SMALLEST), width * LARGEST)
    return replace(label, size=round(size, 3))


def _broken(name: str, label: Label) -> tuple[Line, ...]:
    """The name in lines that fit the label's free width at its letter height, as far as words allow."""
    fit = label.free / (GLYPH * label.size) if label.size else 0
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + 1 + len(word) <= fit:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    lift = 0.6 * (len(lines) - 1)
    return tuple(Line(text, round(1.2 * number - lift, 2)) for number, text in enumerate(lines))


def _frame(
    corners: list[Point], grounds: Mapping[str, list[Ring]], points: Sequence[PointIn], image: ImageIn | None
) -> tuple[float, float, float, float]:
    """x, y, width, height of what is seen; 20 m by 10 m of nothing when there is nothing."""
    corners = [*corners, *(corner for rings in grounds.values() for ring in rings for corner in ring.outer)]
    corners += [(point.x_m, point.y_m) for point in points]
    if image is not None:
        corners += [(image.x, image.y), (image.x + image.width, image.y + image.height)]
    if not corners:
        return (0.0, 0.0, 20.0, 10.0)
    west, north = min(x for x, _ in corners), min(y for _, y in corners)
    east, south = max(x for x, _ in corners), max(y for _, y in corners)
    margin = max(east - west, south - north, 1.0) * MARGIN
    return (west - margin, north - margin, east - west + 2 * margin, south - north + 2 * margin)
