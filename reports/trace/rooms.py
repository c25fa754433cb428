"""What was found in each room of a zone, as a finding keeps it: pages, API and report say it without judging again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from campaigns.frozen.records import Codec
from methods.verdicts.many_rooms import ComparedRoom

UNMEASURED = "unmeasured"
#: Raised whenever a field of these records comes, goes or changes its meaning. A finding is made anew with each
#: judging, so one of another format tells nothing by room until then.
FORMAT = 1


@dataclass(frozen=True, slots=True)
class RoomVerdict:
    """The result of most concern among the room-air points of one room; a room without one is ``UNMEASURED``.

    ``room``, ``name``: its key and name; ``verdict``, ``words``: a verdict and how it is printed; ``is_met``: whether
    the limit is met, None while nobody can say; ``text``: value with U and unit; ``number``: the value alone;
    ``fraction``: of an upper limit; ``sentence``: all of it in words. ``p_not_met``: the probability that the limit is
    not met, None where it cannot be compared; ``shared``: the part of its variance (0 to 1) that it has in common with
    other results of ``instrument``, an id, "" for a sample.
    """

    room: str
    name: str
    verdict: str
    words: str
    is_met: bool | None
    text: str
    number: str
    unit: str
    fraction: float | None
    sentence: str
    p_not_met: float | None
    shared: float
    instrument: str

    @property
    def is_measured(self) -> bool:
        return self.verdict != UNMEASURED

    @property
    def compared(self) -> ComparedRoom | None:
        """None where it was not compared."""
        if self.p_not_met is None:
            return None
        return ComparedRoom(self.p_not_met, self.shared, self.instrument)


@dataclass(frozen=True, slots=True)
class ZoneRooms:
    """Every room of a zone, what concerns most first, the unmeasured last."""

    format: int
    rooms: tuple[RoomVerdict, ...]

    @property
    def counts(self) -> Counter[str]:
        """By verdict."""
        return Counter(room.verdict for room in self.rooms)

    @property
    def compared(self) -> Iterator[ComparedRoom]:
        return (compared for room in self.rooms if (compared := room.compared) is not None)


NO_ROOMS = ZoneRooms(FORMAT, ())
ZONE_ROOMS = Codec(ZoneRooms)


def without_rooms() -> dict[str, Any]:
    """What stands for ``NO_ROOMS``."""
    return {"format": FORMAT, "rooms": []}


def read_rooms(stored: Any) -> ZoneRooms:
    """Raises records.RecordError where it is no such record of today's format."""
    if isinstance(stored, dict) and stored.get("format") != FORMAT:
        return NO_ROOMS
    return ZONE_ROOMS.read(stored)
