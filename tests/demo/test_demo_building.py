"""The invented house can be built: rooms do not overlap, keep their areas, and hold their points."""

from __future__ import annotations

import pytest
from shapely import Point, Polygon

from demo.building import SITE, STRANGER_SITE
from demo.plans import sheet
from demo.shapes import DemoFloor, DemoSite
from methods.floorplans import area_m2, metres_per_pixel, overlaps
from methods.floorplans.images import understand

FLOORS = [floor for site in (SITE, STRANGER_SITE) for building in site.buildings for floor in building.floors]


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.name)
def test_rooms_do_not_overlap_and_keep_their_areas(floor: DemoFloor) -> None:
    rooms = [room for zone in floor.zones for room in zone.rooms]
    assert overlaps({room.code: room.outline for room in rooms}, least_m2=0) == []
    assert [area_m2(room.outline) for room in rooms] == pytest.approx([room.area_m2 for room in rooms])


def test_some_rooms_are_not_rectangles() -> None:
    assert sum(len(room.outline) > 4 for room in SITE.rooms().values()) >= 6


@pytest.mark.parametrize("site", [SITE, STRANGER_SITE], ids=lambda site: site.name)
def test_every_point_is_in_its_room(site: DemoSite) -> None:
    rooms = site.rooms()
    astray = [
        point.key
        for point in site.points
        if point.room and not Polygon(rooms[point.room].outline).contains(Point(point.x_m, point.y_m))
    ]
    assert astray == []


@pytest.mark.parametrize("floor", FLOORS, ids=lambda floor: floor.name)
def test_a_plan_sheet_is_true_to_scale(floor: DemoFloor) -> None:
    """Two clicks on its south wall give the metres that its rooms were drawn with."""
    plan = sheet(floor)
    image = understand(plan.svg)
    assert (max(image.width_px, image.height_px), image.left_out) == (2400, ())
    scale = metres_per_pixel(plan.first_px, plan.second_px, plan.length_m)
    east = max(x for zone in floor.zones for room in zone.rooms for x, _ in room.outline)
    assert image.width_px * scale == pytest.approx(east + 4, abs=0.02)  # two metres of margin on both sides
    assert plan.origin_px[0] * scale == pytest.approx(2)
