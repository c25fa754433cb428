"""From the results of points to the finding of a zone: the worst room-air result governs, and each room has its own
(docs/methods/zones.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Criterion, Deployment, Room, SamplingPoint
from methods.limits.model import LimitDefinition
from methods.verdicts import Verdict
from methods.wording.findings import GoverningTold, statement
from methods.wording.results import place
from methods.wording.rooms import counted
from reports.models import Finding, Result
from reports.models.findings import concern
from reports.services import digests
from reports.services.judging import Place
from reports.services.room_verdicts import RoomResult, fraction_of, rooms_by_zone, verdicts_of
from reports.services.told_results import ToldResult
from reports.services.upsert import Upsert
from reports.trace.rooms import FORMAT, ZONE_ROOMS, ZoneRooms

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


@dataclass(frozen=True, slots=True)
class SpeakingFacts:
    """About the results that speak for rooms: ``told`` by their id, ``points`` by id, ``instruments`` by deployment,
    every room of a zone by the id of the zone."""

    told: Mapping[int, ToldResult]
    points: Mapping[int, SamplingPoint]
    instruments: Mapping[int, str]
    rooms: Mapping[int, list[Room]]

    def of(self, light: Light) -> RoomResult:
        instrument = "" if light.deployment_id is None else self.instruments.get(light.deployment_id, "")
        return RoomResult(self.told[light.pk], light.concern, instrument)


def judge_zones(campaign: Campaign, deployments: Iterable[Deployment], told: Mapping[Place, ToldResult]) -> int:
    """Write one finding per criterion and measured zone; an unmeasured zone gets none. Returns how many there are.

    ``deployments`` of the campaign, with their points and rooms; ``told``: by criterion and deployment what results
    say, as far as that is known; of the others it is read.
    """
    there = list(_findings(campaign, list(deployments), told))
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
    campaign: Campaign, deployments: Sequence[Deployment], told: Mapping[Place, ToldResult]
) -> Iterator[FindingColumns]:
    """Per criterion and zone. What is told of a result is asked of those alone that speak for a room."""
    zones: dict[tuple[int, int], list[Light]] = defaultdict(list)
    stored = Result.objects.filter(criterion__campaign=campaign)
    lights = [Light._make(row) for row in stored.values_list(*Light._fields)]
    points = _room_air(deployments) | _without_deployment(lights)
    for light in lights:
        point = points.get(light.point_id)
        if point is not None and point.room is not None:
            zones[light.criterion_id, point.room.zone_id].append(light)
    speaking = {place: _speaking(results, points) for place, results in zones.items()}
    facts = SpeakingFacts(
        told=_told([light for by_room in speaking.values() for light in by_room.values()], told),
        points=points,
        instruments={d.pk: str(d.instrument_id) for d in deployments},
        rooms=rooms_by_zone(zone for _, zone in zones),
    )
    for criterion in campaign.criteria.select_related("limit", "campaign__site"):
        limit = criterion.limit.as_library()
        for (of, zone), results in zones.items():
            if of == criterion.pk:
                yield _finding(criterion, limit, zone, results, speaking[of, zone], facts)


def _told(speaking: Sequence[Light], known: Mapping[Place, ToldResult]) -> dict[int, ToldResult]:
    """By the id of each result. One query where not all are ``known``."""
    said, unknown = {}, []
    for light in speaking:
        told = None if light.deployment_id is None else known.get((light.criterion_id, light.deployment_id))
        if told is None:
            unknown.append(light.pk)
        else:
            said[light.pk] = told
    if unknown:
        said |= {pk: ToldResult.of(result) for pk, result in Result.objects.in_bulk(unknown).items()}
    return said


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
    results: list[Light],
    speaking: Mapping[int, Light],
    facts: SpeakingFacts,
) -> FindingColumns:
    """``results``: all of the zone; ``speaking``: by room the one that governs there, one of which governs the zone."""
    worst, count_of_points = governing(speaking.values()), len({r.point_id for r in results})
    told = facts.told[worst.pk]
    rooms = verdicts_of(facts.rooms[zone], {room: facts.of(light) for room, light in speaking.items()}, limit)
    zone_info = criterion.campaign.site.zone_info
    words = statement(limit, told_of(told, facts.points[worst.point_id], count_of_points, zone_info))
    count = counted([room.words for room in rooms])
    return FindingColumns(
        criterion_id=criterion.pk,
        zone_id=zone,
        governing_id=worst.pk,
        verdict=told.verdict,
        fraction=fraction_of(told.value, limit),
        statement=f"{words} Room by room: {count}." if count else words,
        advice=told.advice,
        rooms=ZoneRooms(FORMAT, rooms),
        digest=digests.of_parts(criterion.limit.code, sorted(r.digest for r in results)),
    )


def told_of(told: ToldResult, point: SamplingPoint, points: int, zone: ZoneInfo) -> GoverningTold:
    """``points``: how many of the zone were measured."""
    return GoverningTold(
        place=place(point.room.name if point.room else "", point.name),
        when=told.when(zone),
        value=told.text,
        unit=told.unit,
        verdict=Verdict(told.verdict),
        words=told.words,
        edge=told.edge,
        p_above=told.p_above,
        why=told.why,
        indicative=told.indicative,
        of_visit=told.of_visit,
        less_outdoors=told.less_outdoors,
        points=points,
    )
