"""Outlines of rooms and zones on a floor, and what is drawn from them. Pure: numbers in, numbers and strings out.

An outline is a list of corners [x, y] in metres on the floor's own coordinates: x to the right and y DOWN the drawing,
as a plan lies on the table; the last corner is joined to the first and not repeated. A floor's origin is the top left
corner of its plan image unless somebody moved it.
"""

from __future__ import annotations

from methods.floorplans.drawing import FloorDrawing, RoomIn, ZoneIn, draw, dress
from methods.floorplans.layout import lay_out, rectangle
from methods.floorplans.scale import metres_per_pixel
from methods.floorplans.shape import Outline, OutlineError, area_m2, corners, faults, label_of, overlaps, polygon
from methods.floorplans.split import split
from methods.floorplans.union import Ring, svg_path, union

__all__ = [
    "FloorDrawing",
    "Outline",
    "OutlineError",
    "Ring",
    "RoomIn",
    "ZoneIn",
    "area_m2",
    "corners",
    "draw",
    "dress",
    "faults",
    "label_of",
    "lay_out",
    "metres_per_pixel",
    "overlaps",
    "polygon",
    "rectangle",
    "split",
    "svg_path",
    "union",
]
