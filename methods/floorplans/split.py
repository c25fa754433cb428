"""One room made into two by a straight line."""

from __future__ import annotations

import math

from shapely import LineString, MultiPoint, Polygon, get_parts
from shapely.ops import split as cut

from methods.floorplans.shape import LEAST_AREA_M2, Outline, OutlineError, Point, corners, polygon

BEYOND_M = 0.001  # past the walls, so that the line surely cuts them


def split(outline: Outline, first: Point, second: Point) -> tuple[list[Point], list[Point]]:
    """The two parts of ``outline`` on either side of the line through ``first`` and ``second``, larger part first.

    The line is lengthened to the walls it meets; in a room with a recess it cuts only where it was drawn. The areas of
    the parts add up to the area of the whole. Raises OutlineError when there are not exactly two parts.
    """
    whole = polygon([_round(corner) for corner in corners(outline)])
    first, second = _round(first), _round(second)
    pieces = [part for part in cut(whole, _knife(whole, first, second)).geoms if part.area > 0]
    if len(pieces) != 2 or min(part.area for part in pieces) < LEAST_AREA_M2:
        raise OutlineError("The line must cut the room into two: draw it from one wall to another.")
    large, small = sorted(pieces, key=lambda part: -part.area)
    return _corners(large), _corners(small)


def _knife(whole: Polygon, first: Point, second: Point) -> LineString:
    length = math.dist(first, second)
    if length == 0 or not math.isfinite(length):
        raise OutlineError("A line needs two different places.")
    ux, uy = (second[0] - first[0]) / length, (second[1] - first[1]) / length
    far = math.dist(whole.bounds[:2], whole.bounds[2:]) + math.dist(first, whole.centroid.coords[0]) + length
    through = LineString([(first[0] - ux * far, first[1] - uy * far), (second[0] + ux * far, second[1] + uy * far)])
    drawn = LineString([first, second])
    inside = [part for part in get_parts(whole.intersection(through)) if part.length > 0]
    met = [part for part in inside if part.distance(drawn) <= BEYOND_M]
    if len(met) != 1:
        raise OutlineError("The line must cross the room once: draw it from one wall to the next.")
    ends = sorted(
        ((p.x - first[0]) * ux + (p.y - first[1]) * uy for p in MultiPoint(met[0].coords).geoms),
    )
    low, high = ends[0] - BEYOND_M, ends[-1] + BEYOND_M
    return LineString([(first[0] + ux * low, first[1] + uy * low), (first[0] + ux * high, first[1] + uy * high)])


def _round(point: Point) -> Point:
    """To the micrometre: with numbers around 1e-311 the cut would no longer conserve area."""
    return (round(point[0], 6), round(point[1], 6))


def _corners(part: Polygon) -> list[Point]:
    return [(float(x), float(y)) for x, y in part.exterior.coords[:-1]]
