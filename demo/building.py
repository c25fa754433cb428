"""Larkspindle House: four storeys, nine zones, forty rooms. Invented from end to end.

Pure. Every floor is 36 m by 14 m: a row of rooms 6 m deep on the south side, a 2 m corridor, a row on the north side.
The twelve metres left over at the east end of the south row are stairs and lift.
"""

from __future__ import annotations

from demo.shapes import DemoBuilding, DemoFloor, DemoPoint, DemoRoom, DemoSite, DemoZone

SOUTH_Y, NORTH_Y, DEPTH = 0.0, 8.0, 6.0
HEIGHTS = {0: 3.0, 1: 2.7, 2: 3.2, 3: 2.6}
TIME_ZONE = "Europe/Berlin"

#: (level, side, zone key) → rooms from west to east as (name, use, width in m); numbers run on along the floor.
_ROWS: dict[tuple[int, str, str], tuple[tuple[str, str, float], ...]] = {
    (0, "north", "nursery"): (
        ("Hedgehog group", "group room", 9),
        ("Dormouse group", "group room", 9),
        ("Otter group", "group room", 9),
        ("Wren group", "group room", 9),
    ),
    (0, "south", "nursery"): (("Sleeping room", "sleeping room", 9),),
    (0, "south", "kitchen"): (
        ("Nursery kitchen", "kitchen", 6),
        ("Cloakroom", "cloakroom", 5),
        ("Nursery staff room", "staff room", 4),
    ),
    (1, "north", "refurbished"): (
        ("Office 1.01", "office", 6),
        ("Office 1.02", "office", 6),
        ("Office 1.03", "office", 6),
        ("Office 1.04", "office", 6),
        ("Office 1.05", "office", 7),
        ("Office 1.06", "office", 5),
    ),
    (1, "south", "meeting"): (
        ("Meeting room Juniper", "meeting room", 8),
        ("Meeting room Sorrel", "meeting room", 6),
        ("Meeting room Tansy", "meeting room", 6),
        ("Phone room", "meeting room", 4),
    ),
    (2, "north", "old"): (
        ("Office 2.01", "office", 6),
        ("Office 2.02", "office", 6),
        ("Office 2.03", "office", 6),
        ("Office 2.04", "office", 6),
        ("Office 2.05", "office", 6),
        ("Office 2.06", "office", 6),
    ),
    (2, "south", "print"): (
        ("Print room", "print room", 8),
        ("Furniture store", "store", 10),
        ("Supplies", "store", 6),
    ),
    (3, "north", "studio"): (
        ("Drawing studio", "open-plan office", 12),
        ("Model studio", "open-plan office", 9),
        ("Quiet room Heron", "office", 5),
        ("Quiet room Plover", "office", 5),
        ("Quiet room Curlew", "office", 5),
    ),
    (3, "south", "canteen"): (
        ("Canteen", "canteen", 6),
        ("Tea kitchen", "kitchen", 3),
        ("Lounge", "lounge", 4),
        ("First-aid room", "first-aid room", 3),
    ),
    (3, "south", "archive"): (
        ("Archive A", "archive", 2),
        ("Archive B", "archive", 2),
        ("Archive C", "archive", 2),
        ("Archive D", "archive", 2),
    ),
}

_ZONES: dict[str, tuple[str, str]] = {
    "nursery": ("Nursery rooms", "nursery"),
    "kitchen": ("Nursery kitchen and staff", "nursery"),
    "refurbished": ("Refurbished offices", "office"),
    "meeting": ("Meeting rooms", "office"),
    "old": ("Untouched offices", "office"),
    "print": ("Print and stores", "office"),
    "studio": ("Studios and quiet rooms", "office"),
    "canteen": ("Canteen and lounge", "office"),
    "archive": ("Archive", "store"),
}

#: Number on the floor of rooms whose eastern wall steps at half depth, by so many metres: L-shaped neighbours.
_STEPS = {(0, 2): 1.5, (1, 5): 1.0, (1, 8): 1.0, (3, 1): 2.0}

_FLOOR_NAMES = {0: "Ground floor", 1: "First floor", 2: "Second floor", 3: "Third floor"}


def _floor(level: int) -> DemoFloor:
    rooms: dict[str, list[DemoRoom]] = {}
    x = {"north": 0.0, "south": 0.0}
    number = 0
    for (row_level, side, zone), row in _ROWS.items():
        if row_level != level:
            continue
        for name, use, width in row:
            number += 1
            y = NORTH_Y if side == "north" else SOUTH_Y
            west, east = _STEPS.get((level, number - 1), 0.0), _STEPS.get((level, number), 0.0)
            size = (HEIGHTS[level], x[side], y, width, DEPTH)
            room = DemoRoom(f"{level}.{number:02d}", name, use, *size, west, east)
            rooms.setdefault(zone, []).append(room)
            x[side] += width
    zones = tuple(DemoZone(key, *_ZONES[key], rooms=tuple(group)) for key, group in rooms.items())
    return DemoFloor(level, _FLOOR_NAMES[level], zones)


def _points(building: DemoBuilding) -> tuple[DemoPoint, ...]:
    points = []
    for zone in building.zones():
        # Children breathe lower down; 1.0 m is inside the 1.0 to 1.5 m band of ISO 16000-1 (from memory).
        height = 1.0 if zone.use == "nursery" else 1.2
        for room in zone.rooms:
            centre = (room.x_m + room.width_m / 2, room.y_m + room.depth_m / 2)
            points.append(DemoPoint(room.code, "centre", "room_air", height, room.code, *centre))
    return tuple(points)


_MORE_POINTS = (
    DemoPoint("3.01b", "east desks", "room_air", 1.2, "3.01", 9.0, 11.0),
    DemoPoint("0.06-cab", "tall cabinet left of the sink", "enclosed", 1.1, "0.06", 9.6, 0.5),
    DemoPoint("out", "North lawn, 6 m from the facade", "outdoor", 1.5, None, 18.0, 20.0),
)


_HOUSE = DemoBuilding("Larkspindle House", tuple(_floor(level) for level in HEIGHTS))

SITE = DemoSite(
    key="larkspindle",
    name="Larkspindle House",
    address="7 Paperlantern Row, Brindlewick (an invented town)",
    client="Brindlewick House Trust",
    time_zone=TIME_ZONE,
    altitude_m=420.0,
    buildings=(_HOUSE,),
    points=(*_points(_HOUSE), *_MORE_POINTS),
)

_HUT = DemoBuilding(
    "Pebblecomb Hut",
    (
        DemoFloor(
            0,
            "Ground floor",
            (
                DemoZone(
                    "hut",
                    "The hut",
                    "office",
                    (
                        DemoRoom("H1", "Front room", "office", 2.5, 0.0, 0.0, 5.0, 4.0),
                        DemoRoom("H2", "Back room", "store", 2.5, 5.0, 0.0, 3.0, 4.0),
                    ),
                ),
            ),
        ),
    ),
)

#: Somebody else's site: nobody of the first organisation may ever see that it exists.
STRANGER_SITE = DemoSite(
    key="pebblecomb",
    name="Pebblecomb Hut",
    address="1 Nowhere Steps, Outer Pebblecomb (an invented hamlet)",
    client="Pebblecomb Hut Club",
    time_zone="America/Halifax",
    altitude_m=35.0,
    buildings=(_HUT,),
    points=_points(_HUT),
)
