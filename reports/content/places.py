"""Where was measured, and where not: buildings, floors, zones, points without a result."""

from __future__ import annotations

from dataclasses import dataclass

from reports.content.courses import ReportedCourse
from reports.content.drawings import ReportedDrawing
from reports.content.findings import ReportedFinding


@dataclass(frozen=True, slots=True)
class UnmeasuredPoint:
    """A planned or visited point without a result. room: "" outdoors. why: in words."""

    point: str
    room: str
    why: str


@dataclass(frozen=True, slots=True)
class ReportedCondition:
    """Temperature or humidity while the instruments stood there. low, mean, high: of the readings that count, in
    ``unit``."""

    parameter: str
    name: str
    unit: str
    low: float
    mean: float
    high: float
    text: str


@dataclass(frozen=True, slots=True)
class ReportedZone:
    """key: UUID, which names its page. area_m2: None where no room says its own. span: columns of 24 that it takes in
    the building's section. measured: against any of the criteria. findings: one for each criterion, in their order.
    """

    key: str
    name: str
    building: str
    floor: str
    use: str
    ventilation: str
    area_m2: float | None
    span: int
    rooms: tuple[str, ...]
    measured: bool
    conditions: tuple[ReportedCondition, ...]
    findings: tuple[ReportedFinding, ...]
    courses: tuple[ReportedCourse, ...]
    unmeasured_points: tuple[UnmeasuredPoint, ...]

    def against(self, ref: str) -> ReportedFinding:
        """The finding for the criterion of this name."""
        return next(finding for finding in self.findings if finding.criterion == ref)


@dataclass(frozen=True, slots=True)
class ReportedFloor:
    """level: 0 is the ground floor, cellars are below it. drawing: None where no zone was drawn at the time."""

    name: str
    level: int
    zones: tuple[ReportedZone, ...]
    drawing: ReportedDrawing | None


@dataclass(frozen=True, slots=True)
class ReportedBuilding:
    """floors: the top one first."""

    name: str
    floors: tuple[ReportedFloor, ...]
