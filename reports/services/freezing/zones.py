"""Every zone of the site against every criterion: what speaks for it, what stands beside it, what was not measured."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import count
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import F

from campaigns.models import Building, Campaign, Deployment, Floor, SamplingPoint, Zone
from campaigns.services.drawings import drawings_of
from methods.figures import spans
from reports.content.canonical import number
from reports.models import Finding, Result
from reports.services.freezing.drawings import frozen
from reports.services.freezing.results import brief, full, met, word_of
from reports.services.freezing.summary import UNMEASURED

Json = dict[str, Any]
Place = tuple[int, int]  # zone, criterion


@dataclass
class CampaignFindings:
    """What was found, ready to be told zone by zone. ``refs``: criterion id → "C1"; ``usual``: criterion id → how its
    limit is compared."""

    zone_info: ZoneInfo
    refs: dict[int, str]
    usual: dict[int, str]
    findings: dict[Place, Finding] = field(default_factory=dict)
    results: dict[Place, list[Result]] = field(default_factory=lambda: defaultdict(list))
    outdoor: dict[int, list[Result]] = field(default_factory=lambda: defaultdict(list))
    missing: dict[int, list[Json]] = field(default_factory=lambda: defaultdict(list))
    missing_outdoors: list[Json] = field(default_factory=list)
    climate: dict[int, list[Json]] = field(default_factory=dict)
    courses: dict[int, list[Json]] = field(default_factory=dict)
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def ref(self) -> str:
        return f"R{next(self.numbers)}"


def held(
    campaign: Campaign, refs: dict[int, str], usual: dict[int, str], deployments: list[Deployment]
) -> CampaignFindings:
    """All findings, results and unmeasured points of the campaign: a constant number of queries."""
    found = CampaignFindings(campaign.site.zone_info, refs, usual)
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


def _note_missing(campaign: Campaign, found: CampaignFindings, deployments: list[Deployment], judged: set[int]) -> None:
    """Planned or visited points without a result, and why."""
    visited = {d.point_id: d.point for d in deployments}
    planned = campaign.planned_points.select_related("point__room").order_by("point__room__name", "point__name", "pk")
    points = {p.point_id: p.point for p in planned} | visited
    for pk, point in points.items():
        if pk in judged:
            continue
        why = "visited, but no reading was held that counts" if pk in visited else "planned, not visited"
        said = {"point": point.name, "room": point.room.name if point.room else "", "why": why}
        if point.room is None:
            found.missing_outdoors.append(said)
        else:
            found.missing[point.room.zone_id].append(said)


# --- places -----------------------------------------------------------------------------------------------------------


def buildings_of(campaign: Campaign, found: CampaignFindings) -> list[Json]:
    """Buildings with floors, the top one first, and on each the keys of its zones."""
    buildings = list(campaign.site.buildings.order_by("name").prefetch_related("floors__zones__rooms"))
    drawings = drawings_of(floor for building in buildings for floor in building.floors.all())
    return [
        {
            "name": building.name,
            "floors": [
                _floor(building, floor, found) | {"drawing": frozen(drawings[floor.pk])}
                for floor in _from_the_top(building)
            ],
        }
        for building in buildings
    ]


def _from_the_top(building: Building) -> list[Floor]:
    return sorted(building.floors.all(), key=lambda floor: -floor.level)


def _floor(building: Building, floor: Floor, found: CampaignFindings) -> Json:
    zones = sorted(floor.zones.all(), key=lambda zone: zone.name)
    widths = spans([_area(zone) for zone in zones])
    return {
        "name": floor.name,
        "level": floor.level,
        "zones": [_zone(building, floor, zone, width, found) for zone, width in zip(zones, widths, strict=True)],
    }


def _area(zone: Zone) -> float | None:
    return sum(room.area_m2 or 0.0 for room in zone.rooms.all()) or None


def _zone(building: Building, floor: Floor, zone: Zone, width: int, found: CampaignFindings) -> Json:
    findings = [_finding(zone, criterion, ref, found) for criterion, ref in found.refs.items()]
    return {
        "key": str(zone.key),
        "name": zone.name,
        "building": building.name,
        "floor": floor.name,
        "use": zone.use,
        "ventilation": zone.ventilation,
        "area_m2": number(_area(zone)),
        "span": width,
        "rooms": sorted(room.name for room in zone.rooms.all()),
        "measured": any(finding["verdict"] != UNMEASURED for finding in findings),
        "conditions": found.climate.get(zone.pk, []),
        "findings": findings,
        "courses": found.courses.get(zone.pk, []),
        "unmeasured_points": found.missing[zone.pk],
    }


# --- findings ---------------------------------------------------------------------------------------------------------


def _finding(zone: Zone, criterion: int, ref: str, found: CampaignFindings) -> Json:
    """One zone against one criterion. Without a finding it is not measured, though an enclosed space may be."""
    finding = found.findings.get((zone.pk, criterion))
    results = found.results[zone.pk, criterion]
    beside = [r for r in results if r.point.kind != SamplingPoint.Kind.ROOM_AIR]
    governs = next((r for r in results if finding is not None and r.pk == finding.governing_id), None)
    others = [r for r in results if r.point.kind == SamplingPoint.Kind.ROOM_AIR and r is not governs]
    told: Json = {"criterion": ref, "verdict": UNMEASURED, "word": "not measured", "met": None, "fraction": None,
                  "fraction_text": "", "statement": "", "advice": "", "digest": "", "result": None}  # fmt: skip
    if finding is not None and governs is not None:
        comparable = governs.verdict != "not_comparable"
        told |= {
            "verdict": finding.verdict,
            "word": word_of(governs),
            "met": met(governs),
            "fraction": number(finding.fraction) if comparable else None,
            "fraction_text": f"{finding.fraction:.2f}" if comparable and finding.fraction is not None else "",
            "statement": finding.statement,
            "advice": finding.advice,
            "digest": finding.digest,
            "result": full(governs, found.ref(), found.zone_info, found.usual[criterion]),
        }
    told["others"] = [brief(r, found.ref(), found.zone_info) for r in others]
    told["beside"] = [brief(r, found.ref(), found.zone_info) for r in beside]
    return told


def outdoor_of(found: CampaignFindings) -> list[Json]:
    """Outdoor results by criterion, for the criteria that have any."""
    return [
        {"criterion": ref, "results": [brief(r, found.ref(), found.zone_info) for r in found.outdoor[criterion]]}
        for criterion, ref in found.refs.items()
        if found.outdoor[criterion]
    ]
