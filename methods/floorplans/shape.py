"""What an outline is, whether it is one, how large it is and where its name goes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from shapely import Polygon, STRtree, get_num_coordinates
from shapely.ops import polylabel

from methods.quantities.digits import as_entered

Point = tuple[float, float]
Outline = Sequence[Sequence[float]]

MOST_CORNERS = 200
FARTHEST_M = 10_000.0  # from the origin; a larger number is a slip of the decimal point or pixels taken for metres
LEAST_AREA_M2 = 0.01
TOUCHING_M2 = 0.05  # less common ground than this is two walls drawn a hair apart, not an overlap
MOST_LOOKED_AT = 200_000  # of 900 rooms side by side some 3 500 pairs touch, with ten corners each
LABEL_TOLERANCE_M = 0.05


class OutlineError(ValueError):
    """The outline cannot be used; the message says why, for people."""


def corners(outline: Any) -> list[Point]:
    """The corners as pairs of finite floats. Raises OutlineError when ``outline`` is not a list of such pairs."""
    if not isinstance(outline, list | tuple):
        raise OutlineError("An outline is a list of corners.")
    if len(outline) > MOST_CORNERS:
        raise OutlineError(f"An outline has at most {MOST_CORNERS} corners; this one has {len(outline)}.")
    points = [_corner(number, pair) for number, pair in enumerate(outline, start=1)]
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    return points


def faults(outline: Any) -> list[str]:
    """What is wrong with an outline, as sentences; empty when it is a simple polygon of a sensible size."""
    try:
        points = corners(outline)
    except OutlineError as error:
        return [str(error)]
    if len(set(points)) < 3:
        return ["An outline needs at least three different corners."]
    shape = Polygon(points)
    if not shape.is_valid:
        return ["The outline crosses or touches itself."]
    if shape.area < LEAST_AREA_M2:
        return [f"The outline encloses less than {as_entered(LEAST_AREA_M2)} m²."]
    return []


def polygon(outline: Outline) -> Polygon:
    """The outline as a shapely polygon in metres. Raises OutlineError when it is not a simple polygon."""
    wrong = faults(outline)
    if wrong:
        raise OutlineError(" ".join(wrong))
    return Polygon(corners(outline))


def area_m2(outline: Outline) -> float:
    """Floor area in m². Raises OutlineError."""
    return float(polygon(outline).area)


def label_of(shape: Polygon) -> Point:
    """Where a name stands best in a room: the point inside that is farthest from every wall, to 5 cm."""
    at = polylabel(shape, LABEL_TOLERANCE_M)
    return (float(at.x), float(at.y))


def overlaps(outlines: Mapping[str, Outline], least_m2: float = TOUCHING_M2) -> list[tuple[str, str, float]]:
    """Pairs of rooms that claim the same ground, with its area in m², largest first.

    outlines: name or key → outline; outlines that are no polygons are left out. Common walls are no overlap. Where
    rooms lie on each other by the hundred, only the first pairs that touch are looked at: see ``MOST_LOOKED_AT``.
    """
    usable = {key: Polygon(corners(outline)) for key, outline in outlines.items() if not faults(outline)}
    keys, shapes = list(usable), list(usable.values())
    if not shapes:
        return []
    touching = sorted(
        (int(first), int(second))
        for first, second in STRtree(shapes).query(shapes, predicate="intersects").T
        if first < second
    )
    pairs = []
    looked_at, sizes = 0, get_num_coordinates(shapes)
    for first, second in touching:
        looked_at += int(sizes[first] + sizes[second])
        if looked_at > MOST_LOOKED_AT:
            break
        common = shapes[first].intersection(shapes[second]).area
        if common > least_m2:
            pairs.append((keys[first], keys[second], float(common)))
    return sorted(pairs, key=lambda pair: -pair[2])


def _corner(number: int, pair: Any) -> Point:
    if not isinstance(pair, list | tuple) or len(pair) != 2:
        raise OutlineError(f"Corner {number} is not a pair of numbers.")
    if any(isinstance(value, bool) or not isinstance(value, int | float) for value in pair):
        raise OutlineError(f"Corner {number} is not a pair of numbers.")
    if not all(abs(value) <= FARTHEST_M for value in pair):  # nor nan, nor an integer too large for a float
        raise OutlineError(f"Corner {number} is farther than {FARTHEST_M:,.0f} m from the origin.")
    return (float(pair[0]), float(pair[1]))
