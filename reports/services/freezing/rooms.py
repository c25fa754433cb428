"""Rooms of a zone, and what chance does among many, as a report signs them: sentences beside the finding of the zone,
and for the whole site in how it was judged."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from methods.limits.model import LimitDefinition
from methods.quantities.digits import as_entered
from methods.verdicts import Levels, Verdict
from methods.wording.rooms import each, undecided, what_is_shared
from reports.content.findings import ReportedResult
from reports.models import Finding, Result
from reports.services.result_values import indication_of
from reports.services.room_verdicts import chance_said
from reports.services.zone_findings import governing


def with_rooms(
    result: ReportedResult, finding: Finding, results: Iterable[Result], limit: LimitDefinition, levels: Levels
) -> ReportedResult:
    """What speaks for the zone, with its other rooms and their number beside it; as it is in a zone of one room, and
    where no room could be compared, which the verdict says. ``results``: of the zone's room air."""
    rooms = finding.by_room
    compared = list(rooms.compared)
    if len(rooms.rooms) < 2 or not compared:
        return result
    speaking = _speaking(results)
    beside = {key: indication_of(of_room) for key, of_room in speaking.items()}
    told = each([(room.name, room.text, room.words, beside.get(room.room, "")) for room in rooms.rooms])
    open_rooms = [
        _undecided(room.name, speaking[room.room])
        for room in rooms.rooms
        if room.verdict == Verdict.UNDECIDED and room.room in speaking
    ]
    chances = chance_said(compared, limit, levels.above, levels.below)
    return replace(result, assumptions=(*result.assumptions, told, *open_rooms, *chances))


def _undecided(room: str, result: Result) -> str:
    trace = result.traced
    assert result.p_above is not None  # what could not be compared is not undecided
    edge = f"{as_entered(trace.edge)} {result.unit}" if trace.edge is not None else "the limit"
    return undecided(room, result.p_above, edge, trace.advice)


def _speaking(results: Iterable[Result]) -> dict[str, Result]:
    """By the key of a room, the result that governs there."""
    by_room: dict[str, list[Result]] = defaultdict(list)
    for result in results:
        if result.point.room is not None:
            by_room[str(result.point.room.key)].append(result)
    return {room: governing(there) for room, there in by_room.items()}


def among_all(
    findings: Iterable[Finding], limits: Mapping[int, LimitDefinition], refs: Mapping[int, str], levels: Levels
) -> Iterator[str]:
    """For each criterion of several rooms on the site, by the name it has in the report; ``limits``, ``refs`` by its
    id. What was taken to go together is said once, at the end."""
    every = list(findings)
    shared = ""
    for criterion, ref in refs.items():
        rooms = [room for f in every if f.criterion_id == criterion for room in f.by_room.compared]
        if said := chance_said(rooms, limits[criterion], levels.above, levels.below):
            yield f"{ref}, the whole site: {' '.join(said)}"
            shared = shared or what_is_shared(rooms)
    if shared:
        yield shared
