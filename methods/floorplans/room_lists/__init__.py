"""A list of rooms as people keep it in a spreadsheet. Pure: bytes or text in, rooms and problems out."""

from __future__ import annotations

from methods.floorplans.room_lists.reading import (
    COLUMNS,
    MOST_BYTES,
    ListedRoom,
    RoomList,
    RoomListProblem,
    decoded,
    read,
)

__all__ = ["COLUMNS", "MOST_BYTES", "ListedRoom", "RoomList", "RoomListProblem", "decoded", "read"]
