"""From the results of a zone's points to a verdict for each of its rooms (docs/methods/zones.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from campaigns.models import Room
from methods.limits.model import Bound, LimitDefinition
from methods.verdicts import Verdict
from methods.verdicts.comparability import ComparabilityState
from methods.verdicts.many_rooms import SHARED_PARTS, ByChance, ComparedRoom, at_least_one, by_chance
from methods.wording import rooms as wording
from methods.wording.results import in_full, number_text
from methods.wording.rooms import RoomTold
from methods.wording.summary import NOT_MEASURED
from reports.models import Result
from reports.services.result_values import measured_value, word_of
from reports.trace import BudgetPart
from reports.trace.rooms import UNMEASURED, RoomVerdict


def rooms_by_zone(zones: Iterable[int]) -> dict[int, list[Room]]:
    """Every room of these zones, measured or not, by name. One query."""
    there: dict[int, list[Room]] = defaultdict(list)
    for room in Room.objects.filter(zone__in=set(zones)).only("key", "name", "zone_id").order_by("name", "pk"):
        there[room.zone_id].append(room)
    return there


def verdicts_of(
    rooms: Iterable[Room], speaking: Mapping[int, Result], limit: LimitDefinition, instruments: Mapping[int, int]
) -> tuple[RoomVerdict, ...]:
    """Of all ``rooms`` of a zone, what concerns most first, the unmeasured last. ``speaking``: by room the result that
    governs there; ``instruments``: by deployment its instrument."""
    every = list(rooms)
    measured = [room for room in every if room.pk in speaking]
    measured.sort(key=lambda room: (*speaking[room.pk].concern, room.name))
    return (
        *(_measured(room, speaking[room.pk], limit, instruments) for room in measured),
        *(_unmeasured(room) for room in every if room.pk not in speaking),
    )


def fraction_of(result: Result, limit: LimitDefinition) -> float | None:
    """The value as a fraction of an upper limit; a range or a lower limit has none that says how bad it is."""
    if result.value is None or limit.bound is not Bound.UPPER or not limit.upper:
        return None
    return result.value / limit.upper


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


def _measured(room: Room, result: Result, limit: LimitDefinition, instruments: Mapping[int, int]) -> RoomVerdict:
    is_compared = result.verdict != Verdict.NOT_COMPARABLE
    said, words = measured_value(result), word_of(result)
    value = in_full(said)
    instrument = instruments.get(result.deployment_id) if result.deployment_id else None
    return RoomVerdict(
        room=str(room.key),
        name=room.name,
        verdict=result.verdict,
        words=words,
        is_met=result.traced.is_met,
        text=value,
        number=number_text(said),
        unit=result.unit,
        fraction=fraction_of(result, limit) if is_compared else None,
        sentence=wording.sentence(RoomTold(room.name, value, words, _why(result))),
        p_not_met=result.p_not_met if is_compared else None,
        shared=shared_part(result.budget_parts) if is_compared else 0.0,
        instrument="" if instrument is None else str(instrument),
    )


def _why(result: Result) -> str:
    """Why it cannot be compared, or is an indication only."""
    why = result.stated_reasons[0].words if result.stated_reasons else ""
    if result.comparability == ComparabilityState.INDICATIVE.word:
        return f"An indication only: {why}"
    return why if result.verdict == Verdict.NOT_COMPARABLE else ""


def shared_part(parts: Iterable[BudgetPart]) -> float:
    """The part of the variance that all results of one instrument have in common."""
    return min(sum((part.share for part in parts if part.name in SHARED_PARTS and part.share is not None), 0.0), 1.0)


def _unmeasured(room: Room) -> RoomVerdict:
    return RoomVerdict(
        room=str(room.key), name=room.name, verdict=UNMEASURED, words=NOT_MEASURED, is_met=None, text="",
        number="", unit="", fraction=None, sentence=wording.unmeasured(room.name), p_not_met=None, shared=0.0,
        instrument="",
    )  # fmt: skip
