"""The scale of a plan image, from two places on it and the distance between them."""

from __future__ import annotations

import math

from methods.floorplans.shape import OutlineError, Point

CLOSEST_PX = 5.0  # nearer than this, one pixel of a shaky hand is 20 % of the length


def metres_per_pixel(first: Point, second: Point, length_m: float) -> float:
    """Metres that one pixel of the image stands for.

    first, second: the two places in pixels of the image. length_m: the distance between them in metres, above zero.
    Raises OutlineError when the places are too near each other or the length is not above zero.
    """
    apart = math.dist(first, second)
    if not math.isfinite(apart) or apart < CLOSEST_PX:
        raise OutlineError("The two places are too near each other: take a long wall.")
    if not math.isfinite(length_m) or length_m <= 0:
        raise OutlineError("The length between the two places is above zero.")
    return length_m / apart
