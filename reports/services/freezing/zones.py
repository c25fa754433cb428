"""Every zone of the site against every criterion: what speaks for it, what stands beside it, what was not measured."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import count
from zoneinfo import ZoneInfo

from django.db.models import F

from campaigns.models import Building, Campaign, Criterion, Deployment, Floor, SamplingPoint, Zone
from campaigns.services.drawings import drawings_of
from methods.figures import spans
from methods.floorplans.drawing import FloorDrawing
from methods.limits.model import LimitDefinition
from methods.verdicts import Levels, Verdict
from methods.wording.results import PLANNED, VISITED, fraction
from methods.wording.summary import NOT_MEASURED, UNMEASURED, LimitNamed, named, plain
from reports.content.canonical import number
from reports.content.courses import ReportedCourse
from reports.content.drawings import of_floor
from reports.content.findings import OutdoorResults, PointResult, ReportedFinding
from reports.content.places import ReportedBuilding, ReportedCondition, ReportedFloor, ReportedZone, UnmeasuredPoint
from reports.models import Finding, Result
from reports.services.freezing.results import brief, full
from reports.services.freezing.rooms import with_rooms
from reports.services.freezing.traced import met
from reports.services.law_day import law_day
from reports.services.result_values import word_of

Place = tuple[int, int]  # zone, criterion


@dataclass
class CampaignFindings:
    """What was found, ready to be told zone by zone. By id of a criterion, ``refs``: "C1"; ``usual``: how its limit is
    compared; ``limits``: what sentences say of it; ``definitions``: the limit itself. ``levels``: of the campaign.
    ``day``: by whose law it is judged."""

    zone_info: ZoneInfo
    day: date
    refs: dict[int, str]
    usual: dict[int, str]
    limits: dict[int, LimitNamed]
    definitions: dict[int, LimitDefinition] = field(default_factory=dict)
    levels: Levels = field(default_factory=Levels)
    findings: dict[Place, Finding] = field(default_factory=dict)
    results: dict[Place, list[Result]] = field(default_factory=lambda: defaultdict(list))
    outdoor: dict[int, list[Result]] = field(default_factory=lambda: defaultdict(list))
    missing: dict[int, list[UnmeasuredPoint]] = field(default_factory=lambda: defaultdict(list))
    missing_outdoors: list[UnmeasuredPoint] = field(default_factory=list)
    climate: dict[int, tuple[ReportedCondition, ...]] = field(default_factory=dict)
    courses: dict[int, tuple[ReportedCourse, ...]] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def ref(self) -> str:
        return f"R{next(self.numbers)}"


def held(campaign: Campaign, criteria: Iterable[Criterion], deployments: list[Deployment]) -> CampaignFindings:
    """All findings, results and unmeasured points of the campaign: a constant number of queries."""
    limits = {criterion.pk: criterion.limit.as_library() for criterion in criteria}
    day = law_day(campaign, deployments)
    found = CampaignFindings(
        campaign.site.zone_info,
        refs={pk: f"C{n}" for n, pk in enumerate(limits, 1)},
        usual={pk: limit.reason for pk, limit in limits.items()},
        day=day,
        limits={pk: named(limit, day) for pk, limit in limits.items()},
        definitions=limits,
        levels=Levels(campaign.level_above, campaign.level_below),
    )
    for finding in Finding.objects.filter(criterion__campaign=campaign):
        found.findings[finding.zone_id, finding.criterion_id] = finding
    results = Result.objects.filter(criterion__campaign=campaign).select_related(
        "point__room", "deployment__instrument"
    )
    in_time = F("deployment__starts_at").asc(nulls_last=True)
    for result in results.order_by("point__room__name", "point__name", in_time, "pk"):
        if result.point.room is None:
            found.outdoor[result.criterion_id].append(result)
        else:
            found.results[result.point.room.zone_id, result.criterion_id].append(result)
    _note_missing(campaign, found, deployments, {r.point_id for r in results})
    return found


def unmeasured_points(
    campaign: Campaign, deployments: Iterable[Deployment], judged: Collection[int]
) -> Iterator[tuple[SamplingPoint, str]]:
    """Planned or visited points without a result, and why; ``judged``: ids of points that have one. One query."""
    visited = {d.point_id: d.point for d in deployments}
    related = campaign.planned_points.select_related("point__room__zone__floor")
    planned = related.order_by("point__room__name", "point__name", "pk")
    points = {p.point_id: p.point for p in planned} | visited
    for pk, point in points.items():
        if pk not in judged:
            yield point, VISITED if pk in visited else PLANNED


def _note_missing(campaign: Campaign, found: CampaignFindings, deployments: list[Deployment], judged: set[int]) -> None:
    for point, why in unmeasured_points(campaign, deployments, judged):
        said = UnmeasuredPoint(point.name, point.room.name if point.room else "", why)
        if point.room is None:
            found.missing_outdoors.append(said)
        else:
            found.missing[point.room.zone_id].append(said)


# --- places -----------------------------------------------------------------------------------------------------------


def buildings_of(campaign: Campaign, found: CampaignFindings) -> tuple[ReportedBuilding, ...]:
    """Buildings with floors, the top one first, and on each the keys of its zones."""
    buildings = list(campaign.site.buildings.order_by("name").prefetch_related("floors__zones__rooms"))
    drawings = drawings_of(floor for building in buildings for floor in building.floors.all())
    return tuple(
        ReportedBuilding(
            building.name,
            tuple(_floor(building, floor, drawings[floor.pk], found) for floor in _from_the_top(building)),
        )
        for building in buildings
    )


def _from_the_top(building: Building) -> list[Floor]:
    return sorted(building.floors.all(), key=lambda floor: -floor.level)


def _floor(building: Building, floor: Floor, drawing: FloorDrawing, found: CampaignFindings) -> ReportedFloor:
    zones = sorted(floor.zones.all(), key=lambda zone: zone.name)
    widths = spans([_area(zone) for zone in zones])
    return ReportedFloor(
        name=floor.name,
        level=floor.level,
        zones=tuple(_zone(building, floor, zone, width, found) for zone, width in zip(zones, widths, strict=True)),
        drawing=of_floor(drawing),
    )


def _area(zone: Zone) -> float | None:
    return sum(room.area_m2 or 0.0 for room in zone.rooms.all()) or None


def _zone(building: Building, floor: Floor, zone: Zone, width: int, found: CampaignFindings) -> ReportedZone:
    findings = tuple(_finding(zone, criterion, ref, found) for criterion, ref in found.refs.items())
    return ReportedZone(
        key=str(zone.key),
        name=zone.name,
        building=building.name,
        floor=floor.name,
        use=zone.use,
        ventilation=zone.ventilation,
        area_m2=number(_area(zone)),
        span=width,
        rooms=tuple(sorted(room.name for room in zone.rooms.all())),
        measured=any(finding.verdict != UNMEASURED for finding in findings),
        conditions=found.climate.get(zone.pk, ()),
        findings=findings,
        courses=found.courses.get(zone.pk, ()),
        unmeasured_points=tuple(found.missing[zone.pk]),
    )


# --- findings ---------------------------------------------------------------------------------------------------------


def _finding(zone: Zone, criterion: int, ref: str, found: CampaignFindings) -> ReportedFinding:
    """One zone against one criterion. Without a finding it is not measured, though an enclosed space may be."""
    finding = found.findings.get((zone.pk, criterion))
    results = found.results[zone.pk, criterion]
    governs = next((r for r in results if finding is not None and r.pk == finding.governing_id), None)
    room_air = [r for r in results if r.point.kind == SamplingPoint.Kind.ROOM_AIR]
    judged = _unmeasured(ref) if finding is None or governs is None else _judged(finding, governs, ref, found)
    if finding is not None and judged.result is not None:
        limit = found.definitions[criterion]
        judged = replace(judged, result=with_rooms(judged.result, finding, room_air, limit, found.levels))
    return replace(
        judged,
        others=_briefly((r for r in room_air if r is not governs), found),
        beside=_briefly((r for r in results if r.point.kind != SamplingPoint.Kind.ROOM_AIR), found),
        plain=plain(
            found.limits[criterion],
            judged.verdict,
            judged.word,
            indicative=bool(judged.result and judged.result.indication),
        ),
    )


def _unmeasured(ref: str) -> ReportedFinding:
    return ReportedFinding(
        criterion=ref, verdict=UNMEASURED, word=NOT_MEASURED, met=None, fraction=None, fraction_text="", statement="",
        advice="", digest="", result=None, others=(), beside=(), plain="",
    )  # fmt: skip


def _judged(finding: Finding, governs: Result, ref: str, found: CampaignFindings) -> ReportedFinding:
    share = finding.fraction if governs.verdict != Verdict.NOT_COMPARABLE else None
    return ReportedFinding(
        criterion=ref,
        verdict=finding.verdict,
        word=word_of(governs),
        met=met(governs),
        fraction=number(share),
        fraction_text="" if share is None else fraction(share),
        statement=finding.statement,
        advice=finding.advice,
        digest=finding.digest,
        result=full(governs, found.ref(), found.zone_info, found.usual[finding.criterion_id]),
        others=(),
        beside=(),
        plain="",
    )


def _briefly(results: Iterable[Result], found: CampaignFindings) -> tuple[PointResult, ...]:
    return tuple(brief(result, found.ref(), found.zone_info) for result in results)


def outdoor_of(found: CampaignFindings) -> tuple[OutdoorResults, ...]:
    """Outdoor results by criterion, for the criteria that have any."""
    return tuple(
        OutdoorResults(ref, _briefly(found.outdoor[criterion], found))
        for criterion, ref in found.refs.items()
        if found.outdoor[criterion]
    )
