"""The ground several rooms cover together: what a zone looks like on the plan."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from shapely import Polygon, get_num_coordinates, get_parts, union_all
from shapely.ops import unary_union

from methods.floorplans.shape import Outline, Point, corners, faults

#: Corners of the ground of one zone, and how far its edges may be moved to have no more.
MOST_DRAWN, COARSEST_M = 4_000, 100.0
#: Corners of all outlines of a zone together that are joined as they are drawn, and of one at least.
MOST_JOINED, LEAST_CORNERS = 20_000, 16
JOINED_M = 0.02  # walls drawn this near each other are one wall


@dataclass(frozen=True)
class Ring:
    """One connected piece of ground: its outer corners, the corners of holes in it, and its area in m²."""

    outer: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]
    area_m2: float


def union(outlines: Iterable[Outline], joined_m: float = JOINED_M) -> list[Ring]:
    """What the outlines cover together, largest piece first. Gaps narrower than ``joined_m`` between rooms close.

    outlines: in metres; those that are no polygons are left out.
    """
    return [_ring(shape) for shape in united(outlines, joined_m)]


def united(outlines: Iterable[Outline], joined_m: float = JOINED_M) -> list[Polygon]:
    """As ``union``, as shapely polygons."""
    shapes = [Polygon(corners(outline)) for outline in outlines if not faults(outline)]
    if not shapes:
        return []
    each = max(LEAST_CORNERS, MOST_JOINED // len(shapes))
    shapes = [coarse(shape, each) for shape in shapes]
    half = joined_m / 2
    # Mitred: out by half a gap and back by the same leaves straight corners where they were.
    grown = union_all([shape.buffer(half, join_style="mitre") for shape in shapes])
    whole = grown.buffer(-half, join_style="mitre").simplify(half / 10)
    return sorted((part for part in get_parts(coarse(whole, MOST_DRAWN)) if part.area > 0), key=lambda part: -part.area)


def coarse(shape: Any, most: int) -> Any:
    """The shape with at most some ``most`` corners, its edges moved as little as that takes. One of fewer corners stays
    as it is."""
    tolerance = JOINED_M
    while get_num_coordinates(shape) > most + 1 and tolerance < COARSEST_M:
        tolerance *= 2
        parts = [part for part in get_parts(shape.simplify(tolerance)) if part.area > tolerance**2]
        if not parts:
            break
        shape = unary_union([Polygon(part.exterior, _large(part.interiors, tolerance)) for part in parts])
    return shape


def _large(holes: Iterable[Any], tolerance: float) -> list[Any]:
    return [hole for hole in holes if Polygon(hole).area > tolerance**2]


def svg_path(rings: Sequence[Ring]) -> str:
    """``d`` of an SVG path, in metres to the millimetre. Holes stay open with fill-rule evenodd."""
    lines = [line for ring in rings for line in (ring.outer, *ring.holes)]
    return "".join("M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in line) + "Z" for line in lines)


def _ring(shape: Polygon) -> Ring:
    def line(ring: object) -> tuple[Point, ...]:
        return tuple((round(float(x), 6), round(float(y), 6)) for x, y in ring.coords[:-1])  # type: ignore[attr-defined]

    return Ring(line(shape.exterior), tuple(line(hole) for hole in shape.interiors), float(shape.area))
