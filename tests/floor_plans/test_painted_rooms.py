"""Rooms of a drawn floor painted by what was measured in them."""

from __future__ import annotations

from typing import Any

import pytest
from shapely import Point

from campaigns.templatetags.floor_plan import floor_plan
from methods.floorplans import FloorDrawing, RoomIn, ZoneIn, draw, dress, polygon, rectangle
from methods.floorplans.room_words import room_lines

SIZES = {"den": 6.0, "Office 1.02": 6.0, "Very long-winded antechamber": 1.5}


def drawn() -> FloorDrawing:
    """Three rooms side by side in a zone of their own, and a hall that is drawn as a whole."""
    rooms, x = [], 0.0
    for name, width in SIZES.items():
        rooms.append(RoomIn(name, name, "wing", rectangle(x, 0, width, 5)))
        x += width
    hall = ZoneIn("hall", "Hall", rectangle(0, 6, 12, 6))
    return draw("First floor", [ZoneIn("wing", "Wing"), hall], rooms)


def look(name: str, verdict: str, fraction: float | None = None) -> dict[str, Any]:
    return {
        "name": name, "url": f"/zone/#{name}", "measured": verdict != "unmeasured", "number": "0.123", "unit": "mg/m³",
        "fraction": fraction, "verdict": verdict, "sentence": f"{name}: 0.123 mg/m³", "value": "0.123", "said": "",
    }  # fmt: skip


ZONES = {"wing": look("Wing", "above", 1.2), "hall": look("Hall", "below", 0.3)}
ROOMS = {"den": look("den", "above", 1.2), "Office 1.02": look("Office 1.02", "undecided", 0.97)}
UNSEEN = {"Very long-winded antechamber": look("Very long-winded antechamber", "unmeasured")}


def painted(**rooms: dict[str, Any]) -> str:
    return str(floor_plan(dress(drawn(), ZONES, rooms)))


def test_each_room_has_its_own_colour_glyph_and_sentence() -> None:
    svg = painted(wing=ROOMS | UNSEEN)
    assert svg.count('class="plan-room plan-tint over"') == svg.count('class="plan-room plan-tint f10"') == 1
    assert svg.count('class="plan-room" ') == 1, "what was not measured is hatched"
    assert ">1.20 △</text>" in svg
    assert ">0.97 ◇</text>" in svg
    assert '<a href="/zone/#den" aria-label="den: 0.123 mg/m³"><title>den: 0.123 mg/m³</title>' in svg
    assert 'aria-label="Wing:' not in svg, "its rooms speak"
    assert 'aria-label="Hall:' in svg


@pytest.mark.parametrize(
    ("rooms", "why"),
    [
        ({}, "nobody said"),
        ({"den": ROOMS["den"]}, "one room is the zone"),
        (ROOMS | {"annexe": look("annexe", "below", 0.2)}, "a measured room is not drawn"),
    ],
)
def test_a_zone_is_painted_whole_where_its_rooms_are_not_all_seen(rooms: dict[str, Any], why: str) -> None:
    assert 'aria-label="Wing:' in painted(wing=rooms), why
    assert "plan-room" not in painted(wing=rooms)


def test_words_fit_between_the_walls_or_are_left_out() -> None:
    plan = drawn()
    for room in plan.rooms:
        lines = room_lines(room, plan.width, "1.20", "△")
        assert all(line.width <= room.label.free + 0.01 for line in lines)
        assert any("△" in line.text for line in lines)
    den, office, narrow = (room_lines(room, plan.width, "1.20", "△") for room in plan.rooms)
    assert [line.text for line in office] == ["Office 1.02", "1.20 △"]
    assert den[0].y < den[1].y
    assert not any("antechamber" in line.text for line in narrow)


def test_words_stay_inside_of_a_room_with_a_step() -> None:
    """Six metres wide, of which the southern half has two more in the east."""
    outline = [[0, 0], [6, 0], [6, 3], [8, 3], [8, 6], [0, 6]]
    plan = draw("", [ZoneIn("z", "Z")], [RoomIn("r", "Meeting room Sorrel", "z", outline)])
    lines = room_lines(plan.rooms[0], 36.0, "1.01", "◇")
    assert len(lines) > 1
    shape = polygon(outline)
    assert all(shape.covers(Point(line.x + side * line.width / 2, line.y)) for line in lines for side in (-1, 1))


def test_a_room_that_was_not_measured_has_its_name_alone() -> None:
    plan = drawn()
    assert [line.text for line in room_lines(plan.rooms[0], plan.width, "", "")] == ["den"]


def test_the_name_gives_way_in_a_shallow_room() -> None:
    shallow = draw("", [ZoneIn("z", "Z")], [RoomIn("r", "Corridor", "z", rectangle(0, 0, 40, 1.2))])
    assert [line.text for line in room_lines(shallow.rooms[0], shallow.width, "0.40", "▽")] == ["0.40 ▽"]
