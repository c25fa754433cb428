"""Rooms of which only width and length are known, laid out as rectangles in rows."""

from __future__ import annotations

from collections.abc import Sequence

from methods.floorplans.shape import Point

GAP_M = 0.5  # so that nobody takes the rows for how the building is
ROW_M = 30.0


def rectangle(x: float, y: float, width_m: float, length_m: float) -> list[Point]:
    """The four corners from the top left one, clockwise on the drawing. Width along x, length along y."""
    return [(x, y), (x + width_m, y), (x + width_m, y + length_m), (x, y + length_m)]


def lay_out(
    sizes: Sequence[tuple[float, float]], start: Point = (0.0, 0.0), row_m: float = ROW_M, gap_m: float = GAP_M
) -> list[list[Point]]:
    """A rectangle for each (width, length) in metres, side by side in rows not wider than ``row_m``.

    A room wider than a row has one for itself. Rows are as deep as their longest room; nothing overlaps.
    """
    placed = []
    x, y, depth = start[0], start[1], 0.0
    for width, length in sizes:
        if x > start[0] and x + width > start[0] + row_m:
            x, y, depth = start[0], y + depth + gap_m, 0.0
        placed.append(rectangle(x, y, width, length))
        x += width + gap_m
        depth = max(depth, length)
    return placed
