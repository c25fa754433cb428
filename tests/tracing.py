"""What results are traced by, as they are stored: for tests that make results without judging."""

from __future__ import annotations

import json
from typing import Any

from reports.trace import BudgetPart, ResultTrace, SourceReading
from reports.trace.rooms import FORMAT, ZONE_ROOMS, RoomVerdict, ZoneRooms
from reports.trace.stored import BUDGET, trace_text


def reading_at(line: int, **other: Any) -> SourceReading:
    """0.03 at 8:00 of the fifteenth, at a line of ``log 1.csv``."""
    said: dict[str, Any] = {
        "upload": "0b5e6f5e-5f4e-4a5c-9b7e-2d3c4b5a6978",
        "file": "log 1.csv",
        "sha256": "ab" * 32,
        "line": line,
        "stamp": "2026-09-15 10:00:00",
        "at": "2026-09-15T08:00:00+00:00",
        "raw": 0.03,
        "value": 0.031,
    }
    return SourceReading(**said | other)


def stored_trace(**fields: Any) -> Any:
    return json.loads(trace_text(ResultTrace(**fields)))


def stored_budget(*parts: BudgetPart) -> Any:
    return json.loads(BUDGET.text(parts))


def stored_rooms(*verdicts: str) -> Any:
    """What a finding keeps of rooms with these verdicts."""
    rooms = (
        RoomVerdict(
            room=f"room-{n}", name=f"Room {n}", verdict=verdict, words=verdict, is_met=None, text="",
            number="", unit="", fraction=None, sentence="", p_not_met=None, shared=0.0, instrument="",
        )
        for n, verdict in enumerate(verdicts, 1)
    )  # fmt: skip
    return json.loads(ZONE_ROOMS.text(ZoneRooms(FORMAT, tuple(rooms))))
