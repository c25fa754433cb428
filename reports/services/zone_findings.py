"""From the results of points to the finding of a zone: the worst room-air result governs, and each room has its own
(docs/methods/zones.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Criterion, Deployment, SamplingPoint
from methods.limits.model import LimitDefinition
from methods.verdicts import Verdict
from methods.verdicts.comparability import ComparabilityState
from methods.wording.findings import GoverningTold, statement
from methods.wording.results import place
from methods.wording.rooms import counted
from reports.models import Finding, Result
from reports.models.findings import concern
from reports.services import digests
from reports.services.result_values import less_outdoors, of_visit, value_of, when, word_of
from reports.services.room_verdicts import fraction_of, rooms_by_zone, verdicts_of
from reports.services.upsert import Upsert
from reports.trace.rooms import FORMAT, ZONE_ROOMS, RoomVerdict, ZoneRooms

FINDINGS = Upsert(
    Finding,
    unique=("criterion", "zone"),
    changing=("governing", "verdict", "fraction", "statement", "advice", "rooms", "method", "digest"),
    texts={"rooms": ZONE_ROOMS.text},
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FindingColumns:
    """One row of findings, called as its columns are."""

    criterion_id: int
    zone_id: int
    governing_id: int
    verdict: str
    fraction: float | None
    statement: str
    advice: str
    rooms: ZoneRooms
    digest: str
    method: str = digests.METHOD


class Light(NamedTuple):
    """Of a result, what it takes to find the governing one and the digest of a finding."""

    pk: int
    criterion_id: int
    point_id: int
    deployment_id: int | None
    rank: int
    p_not_met: float | None
    reach: float
    digest: str

    @property
    def concern(self) -> tuple[int, float, float]:
        return concern(self.rank, self.p_not_met, self.reach)


def judge_zones(campaign: Campaign, deployments: Iterable[Deployment]) -> int:
    """Write one finding per criterion and measured zone; an unmeasured zone gets none. Returns how many there are.

    ``deployments`` of the campaign, with their points and rooms.
    """
    judged = list(deployments)
    there = list(_findings(campaign, _room_air(judged), {d.pk: d.instrument_id for d in judged}))
    places = {(finding.criterion_id, finding.zone_id) for finding in there}
    stored = Finding.objects.filter(criterion__campaign=campaign).values_list("pk", "criterion_id", "zone_id")
    Finding.objects.filter(pk__in=[pk for pk, *place in stored if tuple(place) not in places]).delete()
    FINDINGS.write([FINDINGS.row(finding) for finding in there])
    return len(there)


def _room_air(deployments: Iterable[Deployment]) -> dict[int, SamplingPoint]:
    """The measured points that govern zones. Enclosed spaces, supply air and outdoor air are shown beside them."""
    return {d.point_id: d.point for d in deployments if d.point.kind == SamplingPoint.Kind.ROOM_AIR}


def _without_deployment(lights: Iterable[Light]) -> dict[int, SamplingPoint]:
    """Room-air points of results that no instrument stood for. One query where there are any."""
    wanted = {light.point_id for light in lights if light.deployment_id is None}
    rooms = SamplingPoint.objects.filter(kind=SamplingPoint.Kind.ROOM_AIR).select_related("room")
    return rooms.in_bulk(wanted) if wanted else {}


def _findings(
    campaign: Campaign, points: dict[int, SamplingPoint], instruments: Mapping[int, int]
) -> Iterator[FindingColumns]:
    """Per criterion and zone. What is told of a result is read of those alone that speak for a room."""
    zones: dict[tuple[int, int], list[Light]] = defaultdict(list)
    stored = Result.objects.filter(criterion__campaign=campaign)
    lights = [Light._make(row) for row in stored.values_list(*Light._fields)]
    points = points | _without_deployment(lights)
    for light in lights:
        point = points.get(light.point_id)
        if point is not None and point.room is not None:
            zones[light.criterion_id, point.room.zone_id].append(light)
    speaking = {place: _speaking(results, points) for place, results in zones.items()}
    told = Result.objects.in_bulk([light.pk for by_room in speaking.values() for light in by_room.values()])
    for result in told.values():
        result.point = points[result.point_id]
    rooms = rooms_by_zone(zone for _, zone in zones)
    for criterion in campaign.criteria.select_related("limit", "campaign__site"):
        limit = criterion.limit.as_library()
        for (of, zone), results in zones.items():
            if of == criterion.pk:
                by_room = {room: told[light.pk] for room, light in speaking[of, zone].items()}
                each = verdicts_of(rooms[zone], by_room, limit, instruments)
                yield _finding(criterion, limit, zone, by_room, results, each)


def _speaking(results: Iterable[Light], points: Mapping[int, SamplingPoint]) -> dict[int, Light]:
    """By room, the result that governs there."""
    by_room: dict[int, list[Light]] = defaultdict(list)
    for light in results:
        room = points[light.point_id].room_id
        assert room is not None
        by_room[room].append(light)
    return {room: governing(there) for room, there in by_room.items()}


Held = TypeVar("Held", Light, Result)


def governing(results: Iterable[Held]) -> Held:
    """The result of most concern; among equals the later visit, and a visit before what has none."""
    return min(results, key=lambda result: (*result.concern, -(result.deployment_id or 0), -result.pk))


def _finding(
    criterion: Criterion,
    limit: LimitDefinition,
    zone: int,
    speaking: Mapping[int, Result],
    results: list[Light],
    rooms: tuple[RoomVerdict, ...],
) -> FindingColumns:
    """``speaking``: by room the result that governs there, one of which governs the zone; ``results``: all of them."""
    worst = governing(speaking.values())
    told = statement(limit, told_of(worst, len({r.point_id for r in results}), criterion.campaign.site.zone_info))
    count = counted([room.words for room in rooms])
    return FindingColumns(
        criterion_id=criterion.pk,
        zone_id=zone,
        governing_id=worst.pk,
        verdict=worst.verdict,
        fraction=fraction_of(worst, limit),
        statement=f"{told} Room by room: {count}." if count else told,
        advice=worst.traced.advice,
        rooms=ZoneRooms(FORMAT, rooms),
        digest=digests.of_parts(criterion.limit.code, sorted(r.digest for r in results)),
    )


def told_of(result: Result, points: int, zone: ZoneInfo) -> GoverningTold:
    """``points``: how many of the zone were measured."""
    return GoverningTold(
        place=place(result.point.room.name if result.point.room else "", result.point.name),
        when="" if result.value is None else when(result, zone),
        value=value_of(result),
        unit=result.unit,
        verdict=Verdict(result.verdict),
        words=word_of(result),
        edge=result.traced.edge,
        p_above=result.p_above,
        why=result.stated_reasons[0].words if result.stated_reasons else "",
        indicative=result.comparability == ComparabilityState.INDICATIVE.word,
        of_visit=of_visit(result),
        less_outdoors=less_outdoors(result),
        points=points,
    )
