"""From the results of a zone's points to a verdict for each of its rooms (docs/methods/zones.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from campaigns.models import Room
from methods.limits.model import Bound, LimitDefinition
from methods.verdicts.many_rooms import ByChance, ComparedRoom, at_least_one, by_chance
from methods.wording import rooms as wording
from methods.wording.rooms import RoomTold
from methods.wording.summary import NOT_MEASURED
from reports.services.told_results import ToldResult
from reports.trace.rooms import UNMEASURED, RoomVerdict


def rooms_by_zone(zones: Iterable[int]) -> dict[int, list[Room]]:
    """Every room of these zones, measured or not, by name. One query."""
    there: dict[int, list[Room]] = defaultdict(list)
    for room in Room.objects.filter(zone__in=set(zones)).only("key", "name", "zone_id").order_by("name", "pk"):
        there[room.zone_id].append(room)
    return there


@dataclass(frozen=True, slots=True)
class RoomResult:
    """The result that governs in a room: what it says, how much it concerns, and the id of its instrument, "" without
    one."""

    told: ToldResult
    concern: tuple[int, float, float]
    instrument: str


def verdicts_of(
    rooms: Iterable[Room], speaking: Mapping[int, RoomResult], limit: LimitDefinition
) -> tuple[RoomVerdict, ...]:
    """Of all ``rooms`` of a zone, what concerns most first, the unmeasured last. ``speaking``: by the id of a room."""
    every = list(rooms)
    measured = [room for room in every if room.pk in speaking]
    measured.sort(key=lambda room: (*speaking[room.pk].concern, room.name))
    return (
        *(_measured(room, speaking[room.pk], limit) for room in measured),
        *(_unmeasured(room) for room in every if room.pk not in speaking),
    )


def fraction_of(value: float | None, limit: LimitDefinition) -> float | None:
    """The value as a fraction of an upper limit; a range or a lower limit has none that says how bad it is."""
    if value is None or limit.bound is not Bound.UPPER or not limit.upper:
        return None
    return value / limit.upper


def chance_of(rooms: Iterable[ComparedRoom], limit: LimitDefinition, above: float, below: float) -> ByChance:
    """What would be called not met by chance at the levels of a campaign; of a range the likelier end."""
    levels = {Bound.UPPER: 1 - above, Bound.LOWER: below, Bound.RANGE: max(1 - above, below)}
    return by_chance(list(rooms), levels[limit.bound])


def chance_said(rooms: Sequence[ComparedRoom], limit: LimitDefinition, above: float, below: float) -> list[str]:
    """The same in a sentence, and in another how likely it is that one of them does not meet the limit; none for fewer
    than two rooms."""
    if len(rooms) < 2:
        return []
    chance = chance_of(rooms, limit, above, below)
    return [wording.by_chance(chance, limit.bound), wording.at_least_one(at_least_one(rooms), len(rooms), limit.bound)]


def _measured(room: Room, speaking: RoomResult, limit: LimitDefinition) -> RoomVerdict:
    told = speaking.told
    return RoomVerdict(
        room=str(room.key),
        name=room.name,
        verdict=told.verdict,
        words=told.words,
        is_met=told.is_met,
        text=told.text,
        number=told.number,
        unit=told.unit,
        fraction=fraction_of(told.value, limit) if told.is_compared else None,
        sentence=wording.sentence(RoomTold(room.name, told.text, told.words, told.reservation)),
        p_not_met=told.p_not_met if told.is_compared else None,
        shared=told.shared if told.is_compared else 0.0,
        instrument=speaking.instrument,
    )


def _unmeasured(room: Room) -> RoomVerdict:
    return RoomVerdict(
        room=str(room.key), name=room.name, verdict=UNMEASURED, words=NOT_MEASURED, is_met=None, text="",
        number="", unit="", fraction=None, sentence=wording.unmeasured(room.name), p_not_met=None, shared=0.0,
        instrument="",
    )  # fmt: skip
