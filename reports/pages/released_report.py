"""The page of a whole report in the shapes that the template parts take. Nothing here asks the database."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from django.http import Http404

from methods.floorplans.drawing import dress
from methods.wording.numbers import mid_sentence
from methods.wording.results import place
from methods.wording.summary import ORDER, UNMEASURED
from reports.content.drawings import floor_again
from reports.content.findings import ReportedFinding
from reports.content.limits import ReportedCriterion
from reports.content.places import ReportedZone, UnmeasuredPoint
from reports.content.record import ReportContent
from reports.pages.report_overview import BuildingInShort, FindingInShort, FloorInShort, ReportOverview, ZoneInShort
from reports.services.result_cells import NO_BREAK

#: What a part of a template takes, as the head of that part says.
Shape = dict[str, Any]
Link = Callable[[ZoneInShort], str]  # from a frozen zone to the address of its page


@dataclass(frozen=True, slots=True)
class VerdictTold:
    """So many zones got this verdict; indication: how many of them only as one, in words; meaning: of the word, where
    the report gives one."""

    verdict: str
    word: str
    count: int
    indication: str
    meaning: str


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """A zone with its finding for each limit."""

    zone: ReportedZone
    findings: tuple[ReportedFinding, ...]


@dataclass(frozen=True, slots=True)
class UnmeasuredPlace:
    """A zone not measured at all (``whole``) or not for the limit that is shown (``missed``: its parameter, else ""),
    or the points left out of a measured one, in words."""

    name: str
    floor: str
    whole: bool
    missed: str
    points: list[str]


def pick(content: ReportContent, ref: str | None) -> ReportedCriterion | None:
    """The criterion "C2"; the first without a name; None where nothing was judged. Http404 for a wrong name."""
    if not ref:
        return content.criteria[0] if content.criteria else None
    for criterion in content.criteria:
        if criterion.ref == ref:
            return criterion
    raise Http404


def options(content: ReportContent, current: ReportedCriterion | None) -> list[tuple[str, str, bool]]:
    """For ``parts/switch.html``."""
    now = current.ref if current else ""
    return [(f"{c.symbol} {c.value}, {c.body}", f"?limit={c.ref}", c.ref == now) for c in content.criteria]


def limit_text(criterion: ReportedCriterion) -> str:
    """The limit in one line, with what a value beside it needs: averaging time, issuer, reference of its unit."""
    issued = f"{criterion.body} {criterion.edition}".strip()
    reference = f", values {criterion.reference}" if criterion.reference else ""
    return f"{criterion.value}, {criterion.statistic} – {issued}{reference}"


def tally(content: ReportContent, criterion: ReportedCriterion) -> list[VerdictTold]:
    """Counts of verdicts."""
    return [VerdictTold(c.verdict, c.word, c.count, c.indication, content.meaning_of(c.word)) for c in criterion.tally]


def matrix(content: ReportContent) -> list[MatrixRow]:
    """Every zone with its finding for each limit, in the order of the building."""
    return [MatrixRow(zone, zone.findings) for zone in content.zones]


# --- the building in section ------------------------------------------------------------------------------------------


def sections(overview: ReportOverview, criterion: ReportedCriterion, link: Link) -> list[Shape]:
    """Each building as ``parts/building.html`` draws it. Outdoor air has a table of its own and no page to lead to."""
    return [
        {
            "caption": f"{building.name}: {criterion.name.lower()} in each zone at the point of most concern.",
            "criterion": limit_text(criterion),
            "floors": [_floor(f, link) for f in building.floors if f.level >= 0],
            "cellars": [_floor(f, link) for f in building.floors if f.level < 0],
            "outdoor": [],
        }
        for building in overview.buildings
    ]


def floor_plans(overview: ReportOverview, link: Link) -> list[Shape]:
    """Floors as ``reports/parts/plans.html`` takes them, the top one first; empty when none was drawn at the time."""
    floors = [(building, floor) for building in overview.buildings for floor in building.floors if floor.zones]
    if not any(floor.drawing for _, floor in floors):
        return []
    many = len(overview.buildings) > 1
    return [_plan(building, floor, n, link, many=many) for n, (building, floor) in enumerate(floors)]


def _plan(building: BuildingInShort, floor: FloorInShort, n: int, link: Link, *, many: bool) -> Shape:
    cells = {zone.key: _cell(zone, link) for zone in floor.zones}
    name = f"{building.name}, {floor.name}" if many else floor.name
    held = floor.drawing
    drawn = {zone.key for zone in held.zones} if held else set()
    drawing = replace(dress(floor_again(name, held), cells), key=str(n)) if held else None
    undrawn = [cell for key, cell in cells.items() if key not in drawn]
    return {"name": name, "title": name, "drawing": drawing, "undrawn": undrawn}


def _floor(floor: FloorInShort, link: Link) -> Shape:
    return {"name": floor.name, "level": "", "zones": [_cell(zone, link) for zone in floor.zones]}


def _cell(zone: ZoneInShort, link: Link) -> Shape:
    cell: Shape = {"name": zone.name, "url": link(zone), "span": zone.span, "measured": False}
    finding = zone.finding
    if finding is None or finding.result is None:
        return cell
    result = finding.result
    return cell | {
        "measured": True,
        "value": result.number,
        "unit": result.unit if result.value is not None else "",
        "fraction": finding.fraction,
        "verdict": finding.verdict,
        "said": finding.word,
        "beside": result.indication,
    }


# --- tables -----------------------------------------------------------------------------------------------------------

COLUMNS: list[Shape] = [
    {"label": "Zone"},
    {"label": "Finding"},
    {"label": "Measured ± U", "num": True},
    {"label": "Fraction of the limit"},
    {"label": "Where and when"},
]


def ranking(overview: ReportOverview, link: Link) -> list[list[Any]]:
    """Zones as rows of ``parts/table.html``, what concerns most first."""
    return [_ranked(zone, finding, link) for zone, finding in sorted(overview.found, key=_concern)]


def _ranked(zone: ZoneInShort, finding: FindingInShort, link: Link) -> list[Any]:
    result = finding.result
    row: list[Any] = [{"text": zone.name, "url": link(zone), "note": zone.floor}, _verdict(finding)]
    if result is None:
        return [*row, "–", "–", "–"]
    low, high = spread(finding)
    measured = f"{result.number} {result.spread}".strip().replace(" ", NO_BREAK)
    return [
        *row,
        {"text": measured, "unit": result.unit},
        "–" if finding.fraction is None else {"fraction": finding.fraction, "low": low, "high": high},
        {"text": result.where, "note": result.when},
    ]


def _verdict(finding: FindingInShort) -> Shape:
    beside = finding.result.indication if finding.result else ""
    return {"verdict": finding.verdict, "said": finding.word, "note": beside}


def _concern(held: tuple[ZoneInShort, FindingInShort]) -> tuple[bool, int, float, str]:
    """A limit not met comes first, which for a lower limit is what lies below it."""
    zone, finding = held
    rank = {False: 0, None: ORDER.index(finding.verdict), True: 2}[finding.met]
    return finding.verdict == UNMEASURED, rank, -(finding.fraction or 0.0), zone.name


def spread(finding: ReportedFinding | FindingInShort) -> tuple[float | None, float | None]:
    """The ends of value ± U as fractions of the limit."""
    result, fraction = finding.result, finding.fraction
    if result is None or not fraction or not result.value or result.expanded is None:
        return None, None
    reach = result.expanded * fraction / result.value
    return fraction - reach, fraction + reach


def unmeasured(overview: ReportOverview, current: ReportedCriterion | None) -> Iterator[UnmeasuredPlace]:
    """Zones not measured at all or not for the limit that is shown, and points left out of measured ones."""
    for zone in overview.zones:
        lacking = zone.measured and zone.finding is not None and zone.finding.result is None
        missed = mid_sentence(current.name) if lacking and current else ""
        if not zone.measured or missed or zone.unmeasured_points:
            points = [point_text(point) for point in zone.unmeasured_points]
            yield UnmeasuredPlace(zone.name, zone.floor, not zone.measured, missed, points)


def point_text(point: UnmeasuredPoint) -> str:
    return f"{place(point.room, point.point)} ({point.why})"
