"""Corners brought to where their neighbours' corners and walls already are."""

from __future__ import annotations

from collections.abc import Iterable

from shapely import LinearRing
from shapely import Point as At

from campaigns.outlines.shape import Outline, Point, corners


def snap_point(point: Point, neighbours: Iterable[Outline], tolerance_m: float) -> Point:
    """``point`` moved to the nearest corner within ``tolerance_m``, else to the nearest wall within it, else unmoved.

    Corners come before walls, so that two rooms that meet in a corner share it exactly.
    """
    rings = [corners(outline) for outline in neighbours]
    here = At(point)
    near = [(here.distance(At(corner)), corner) for ring in rings for corner in ring]
    near = [found for found in near if found[0] <= tolerance_m]
    if near:
        return min(near)[1]
    walls = []
    for ring in rings:
        line = LinearRing(ring)
        distance = line.distance(here)
        if distance <= tolerance_m:
            foot = line.interpolate(line.project(here))
            walls.append((distance, (float(foot.x), float(foot.y))))
    return min(walls)[1] if walls else (float(point[0]), float(point[1]))


def snap_outline(outline: Outline, neighbours: Iterable[Outline], tolerance_m: float) -> list[Point]:
    """Every corner of ``outline`` brought to its neighbours; corners that fall together are one."""
    rings = list(neighbours)
    found: list[Point] = []
    for corner in corners(outline):
        moved = snap_point(corner, rings, tolerance_m)
        if not found or moved != found[-1]:
            found.append(moved)
    if len(found) > 1 and found[0] == found[-1]:
        found.pop()
    return found
