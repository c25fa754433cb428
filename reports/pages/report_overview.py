"""A report against one limit, with as much of each zone as the page of the whole report shows: a hundredth of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from methods.wording.results import place
from reports.content.drawings import ReportedDrawing
from reports.content.findings import ReportedFinding, ReportedResult
from reports.content.places import ReportedBuilding, ReportedFloor, ReportedZone, UnmeasuredPoint


@dataclass(frozen=True, slots=True)
class ResultInShort:
    """Of the result that speaks for a zone; see ``reports.content.findings.PointResult``."""

    value: float | None
    expanded: float | None
    number: str
    spread: str
    unit: str
    indication: str
    where: str
    when: str


@dataclass(frozen=True, slots=True)
class FindingInShort:
    """Of a zone's finding; see ``reports.content.findings.ReportedFinding``."""

    verdict: str
    word: str
    met: bool | None
    fraction: float | None
    result: ResultInShort | None


@dataclass(frozen=True, slots=True)
class ZoneInShort:
    """Of a zone; finding: against the limit that is shown, None where there is no limit."""

    key: str
    name: str
    floor: str
    span: int
    measured: bool
    unmeasured_points: tuple[UnmeasuredPoint, ...]
    finding: FindingInShort | None


@dataclass(frozen=True, slots=True)
class FloorInShort:
    name: str
    level: int
    drawing: ReportedDrawing | None
    zones: tuple[ZoneInShort, ...]


@dataclass(frozen=True, slots=True)
class BuildingInShort:
    """floors: the top one first."""

    name: str
    floors: tuple[FloorInShort, ...]


@dataclass(frozen=True, slots=True)
class ReportOverview:
    """ref: name of the criterion; None where nothing was judged."""

    ref: str | None
    buildings: tuple[BuildingInShort, ...]

    @property
    def zones(self) -> Iterator[ZoneInShort]:
        return (zone for building in self.buildings for floor in building.floors for zone in floor.zones)

    @property
    def found(self) -> Iterator[tuple[ZoneInShort, FindingInShort]]:
        """Zones with their finding."""
        return ((zone, zone.finding) for zone in self.zones if zone.finding is not None)


def in_short(buildings: tuple[ReportedBuilding, ...], ref: str | None) -> ReportOverview:
    """``ref``: name of the criterion whose findings are shown, None for no findings at all."""
    return ReportOverview(
        ref, tuple(BuildingInShort(b.name, tuple(_floor(floor, ref) for floor in b.floors)) for b in buildings)
    )


def _floor(floor: ReportedFloor, ref: str | None) -> FloorInShort:
    return FloorInShort(floor.name, floor.level, floor.drawing, tuple(_zone(zone, ref) for zone in floor.zones))


def _zone(zone: ReportedZone, ref: str | None) -> ZoneInShort:
    return ZoneInShort(
        key=zone.key,
        name=zone.name,
        floor=zone.floor,
        span=zone.span,
        measured=zone.measured,
        unmeasured_points=zone.unmeasured_points,
        finding=None if ref is None else finding_in_short(zone.against(ref)),
    )


def finding_in_short(finding: ReportedFinding) -> FindingInShort:
    result = None if finding.result is None else _result(finding.result)
    return FindingInShort(finding.verdict, finding.word, finding.met, finding.fraction, result)


def _result(result: ReportedResult) -> ResultInShort:
    return ResultInShort(
        value=result.value,
        expanded=result.expanded,
        number=result.number,
        spread=result.spread,
        unit=result.unit,
        indication=result.indication,
        where=place(result.room, result.point),
        when=result.when,
    )
