"""From the results of points to the finding of a zone: the worst room-air result governs (docs/methods/zones.md)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple, TypeVar
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Criterion, Deployment, SamplingPoint
from methods.limits.model import Bound, LimitDefinition
from methods.verdicts import Verdict
from methods.verdicts.comparability import ComparabilityState
from methods.wording.findings import GoverningTold, statement
from methods.wording.results import place
from reports.models import Finding, Result
from reports.models.findings import concern
from reports.services import digests
from reports.services.result_values import less_outdoors, of_visit, value_of, when, word_of
from reports.services.upsert import Upsert

FINDINGS = Upsert(
    Finding,
    unique=("criterion", "zone"),
    changing=("governing", "verdict", "fraction", "statement", "advice", "method", "digest"),
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
    there = list(_findings(campaign, _room_air(deployments)))
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


def _findings(campaign: Campaign, points: dict[int, SamplingPoint]) -> Iterator[FindingColumns]:
    """Per criterion and zone. What is told of a result is read of the governing ones alone."""
    zones: dict[tuple[int, int], list[Light]] = defaultdict(list)
    stored = Result.objects.filter(criterion__campaign=campaign)
    lights = [Light._make(row) for row in stored.values_list(*Light._fields)]
    points = points | _without_deployment(lights)
    for light in lights:
        point = points.get(light.point_id)
        if point is not None and point.room is not None:
            zones[light.criterion_id, point.room.zone_id].append(light)
    told = Result.objects.defer("budget").in_bulk([governing(results).pk for results in zones.values()])
    for criterion in campaign.criteria.select_related("limit", "campaign__site"):
        limit = criterion.limit.as_library()
        for (of, zone), results in zones.items():
            if of == criterion.pk:
                worst = told[governing(results).pk]
                worst.point = points[worst.point_id]
                yield _finding(criterion, limit, zone, worst, results)


Held = TypeVar("Held", Light, Result)


def governing(results: Iterable[Held]) -> Held:
    """The result of most concern; among equals the later visit, and a visit before what has none."""
    return min(results, key=lambda result: (*result.concern, -(result.deployment_id or 0), -result.pk))


def _finding(
    criterion: Criterion, limit: LimitDefinition, zone: int, worst: Result, results: list[Light]
) -> FindingColumns:
    zone_info = criterion.campaign.site.zone_info
    return FindingColumns(
        criterion_id=criterion.pk,
        zone_id=zone,
        governing_id=worst.pk,
        verdict=worst.verdict,
        fraction=fraction_of(worst, limit),
        statement=statement(limit, told_of(worst, len({r.point_id for r in results}), zone_info)),
        advice=worst.traced.advice,
        digest=digests.of_parts(criterion.limit.code, sorted(r.digest for r in results)),
    )


def fraction_of(result: Result, limit: LimitDefinition) -> float | None:
    """The value as a fraction of an upper limit; a range or a lower limit has none that says how bad it is."""
    if result.value is None or limit.bound is not Bound.UPPER or not limit.upper:
        return None
    return result.value / limit.upper


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
