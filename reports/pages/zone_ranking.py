"""How the zones of a campaign stand against a criterion: the tally, the ranking, the building."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db.models import Count, F, Prefetch, Sum
from django.db.models.fields.json import KeyTextTransform
from django.urls import reverse

from campaigns.links import many
from campaigns.models import Building, Campaign, Floor, SamplingPoint, Zone
from campaigns.pages.chosen_criteria import Chosen
from methods.figures import spans
from methods.limits.model import Bound
from methods.verdicts import RANGE_WORDS, Verdict, mark_of
from methods.wording.numbers import span
from methods.wording.summary import indications, order_of_concern
from reports.models import Finding, Result
from reports.pages import rooms
from reports.services import result_cells
from reports.services.result_values import indication_of, word_of
from reports.services.zone_findings import governing

UNMEASURED = "unmeasured"
#: Of findings, what this page and comparisons of campaigns read.
SHOWN = (
    *("criterion_id", "zone_id", "verdict", "fraction", "advice", "rooms"),
    *(
        f"governing__{name}"
        for name in (
            "key",
            "origin",
            "deployment_id",
            "verdict",
            "value",
            "u",
            "dof",
            "excess",
            "unit",
            "comparability",
        )
    ),
    *(
        f"governing__{name}"
        for name in ("rank", "p_not_met", "reach", "window_start", "window_end", "reasons", "trace")
    ),
)
ORDER = (Verdict.ABOVE, Verdict.UNDECIDED, Verdict.BELOW, Verdict.NOT_COMPARABLE)


@dataclass
class Standing:
    """One criterion over all zones of the site. ``places``: what the governing points of the zones call themselves.
    ``outdoor``: per outdoor point the result that concerns most."""

    campaign: Campaign
    chosen: Chosen
    buildings: list[Building]
    findings: dict[int, Finding]
    places: dict[int, str]
    outdoor: dict[SamplingPoint, Result | None] = field(default_factory=dict)

    @cached_property
    def zones(self) -> list[Zone]:
        return zones_of(self.buildings)

    @cached_property
    def _zone_page(self) -> Callable[[UUID], str]:
        return many("zone", self.campaign.key)

    def page_of(self, zone: Zone) -> str:
        return f"{self._zone_page(zone.key)}?criterion={self.chosen.criterion.key}"


def zones_of(buildings: Iterable[Building]) -> list[Zone]:
    return [zone for building in buildings for floor in building.floors.all() for zone in floor.zones.all()]


def buildings_of(campaign: Campaign) -> list[Building]:
    """The site's buildings with floors, zones and their areas: three queries."""
    zones = Zone.objects.annotate(area=Sum("rooms__area_m2"))
    floors = Floor.objects.order_by("-level").prefetch_related(Prefetch("zones", zones))
    return list(campaign.site.buildings.prefetch_related(Prefetch("floors", floors)))


def standing(campaign: Campaign, chosen: Chosen, buildings: list[Building]) -> Standing:
    """Findings and outdoor results for one criterion: three queries, two where there is no outdoor point."""
    findings, places = _findings(chosen, {zone.pk: zone for zone in zones_of(buildings)})
    return Standing(campaign, chosen, buildings, findings, places, _outdoors(campaign, chosen))


def _outdoors(campaign: Campaign, chosen: Chosen) -> dict[SamplingPoint, Result | None]:
    points = list(campaign.site.points.filter(room__isnull=True))
    by_point: dict[int, list[Result]] = {}
    for result in chosen.criterion.results.filter(point__in=points).defer("budget") if points else ():
        by_point.setdefault(result.point_id, []).append(result)
    return {point: governing(by_point[point.pk]) if point.pk in by_point else None for point in points}


def _findings(chosen: Chosen, zones: Mapping[int, Zone]) -> tuple[dict[int, Finding], dict[int, str]]:
    """By zone, with the name of the governing point. What only the page of one result shows (budget, …) stays in the
    database. One query."""
    rows = chosen.criterion.findings.select_related("governing").only(*SHOWN).order_by("zone")
    findings: dict[int, Finding] = {}
    places: dict[int, str] = {}
    for finding in rows.annotate(point=F("governing__point__name"), room=F("governing__point__room__name")):
        finding.zone = zones[finding.zone_id]
        findings[finding.zone_id] = finding
        places[finding.zone_id] = f"{finding.room}, {finding.point}" if finding.room else finding.point
    return findings, places


# --- counts -----------------------------------------------------------------------------------------------------------


def tally(standing: Standing) -> list[tuple[str, str, int, str]]:
    """Verdicts with their words by count, what concerns most first, and how many of them are only an indication;
    unmeasured zones are counted, not hidden."""
    held = standing.findings.values()
    counts = Counter((f.verdict, word_of(f.governing)) for f in held)
    unsure = Counter((f.verdict, word_of(f.governing)) for f in held if indication_of(f.governing))
    ranked = sorted(counts.items(), key=lambda row: order_of_concern(*row[0]))
    out = [(*told, count, indications(unsure[told], count)) for told, count in ranked]
    missing = len(standing.zones) - len(standing.findings)
    return [*out, (UNMEASURED, "", missing, "")] if missing else out


def matrix(criteria: Sequence[Chosen], zone_count: int, current: Chosen) -> list[list[Any]]:
    """Every criterion with its count of verdicts, ranges in words of their own: one query."""
    rows = Finding.objects.filter(criterion__in=[c.criterion for c in criteria])
    said = rows.annotate(said=KeyTextTransform("words", "governing__trace")).values_list("criterion", "verdict", "said")
    counts: Counter[tuple[int, str]] = Counter()
    for criterion, verdict, words, n in said.annotate(n=Count("pk")).order_by():
        counts[criterion, mark_of(verdict, words or "")] += n
    marks = matrix_marks(criteria)
    table = []
    for chosen in criteria:
        numbers = [counts[chosen.criterion.pk, mark] for mark in marks]
        label = {
            "text": chosen.limit.text(),
            "url": f"?criterion={chosen.criterion.key}",
            "note": _about(chosen, current),
        }
        table.append([label, *(str(n) for n in (*numbers, zone_count - sum(numbers)))])
    return table


def matrix_marks(criteria: Sequence[Chosen]) -> tuple[str, ...]:
    """The columns of ``matrix``: those of ranges only where there is one."""
    ranges = tuple(RANGE_WORDS) if any(chosen.limit.bound is Bound.RANGE for chosen in criteria) else ()
    return (*ORDER[:3], *ranges, *ORDER[3:])


def _about(chosen: Chosen, current: Chosen) -> str:
    shown = "shown above; " if chosen is current else ""
    return f"{shown}{chosen.criterion.limit.parameter_name.lower()}, {chosen.limit.population}"


# --- ranking ----------------------------------------------------------------------------------------------------------


def ranking(standing: Standing) -> list[list[Any]]:
    """Zones as rows of ``parts/table.html``, worst first; unmeasured zones last."""
    held = sorted(standing.findings.values(), key=lambda f: (*f.governing.concern, f.zone.name))
    missing = [zone for zone in standing.zones if zone.pk not in standing.findings]
    result_page = many("result")
    return [
        *(_ranked(standing, finding, result_page) for finding in held),
        *([{"text": z.name, "url": standing.page_of(z)}, "–", "–", "–", {"verdict": UNMEASURED}] for z in missing),
    ]


def _ranked(standing: Standing, finding: Finding, result_page: Callable[[UUID], str]) -> list[Any]:
    worst = finding.governing
    where = {
        "text": standing.places[finding.zone_id],
        "url": result_page(worst.key),
        "note": result_cells.taken_with(worst),
    }
    return [
        {"text": finding.zone.name, "url": standing.page_of(finding.zone)},
        where,
        result_cells.value_cell(worst),
        result_cells.fraction_cell(worst, finding.fraction),
        result_cells.verdict_cell(worst, rooms.worst(finding)),
    ]


def open_questions(standing: Standing) -> list[tuple[str, str, str]]:
    """For ``parts/facts.html``: zone and what would decide it, or why nothing can be compared there."""
    held = sorted(standing.findings.values(), key=lambda f: (*f.governing.concern, f.zone.name))
    out = []
    for finding in held:
        words = finding.advice
        if finding.verdict == Verdict.NOT_COMPARABLE:
            words = result_cells.why(finding.governing)
        if words:
            out.append((finding.zone.name, words, standing.page_of(finding.zone)))
    return out


def indication(standing: Standing) -> str:
    """Which findings are only indications, and why, a reason with its zones: "" where the comparison carries."""
    by_reason: dict[str, list[str]] = {}
    for zone in standing.zones:
        finding = standing.findings.get(zone.pk)
        if finding and indication_of(finding.governing):
            by_reason.setdefault(result_cells.why(finding.governing), []).append(zone.name)
    return " ".join(f"{', '.join(names)}: {reason}" for reason, names in by_reason.items())


# --- the building in section ------------------------------------------------------------------------------------------


def sections(standing: Standing) -> list[dict[str, Any]]:
    """Each building as ``parts/building.html`` draws it; outdoor air stands beside the first."""
    outdoor = outdoor_cells(standing)
    out = []
    for n, building in enumerate(standing.buildings):
        floors = [(floor.level, _floor(standing, floor)) for floor in building.floors.all()]
        out.append(
            {
                "caption": _caption(standing, building),
                "criterion": standing.chosen.text,
                "floors": [floor for level, floor in floors if level >= 0],
                "cellars": [floor for level, floor in floors if level < 0],
                "outdoor": outdoor if n == 0 else [],
            }
        )
    return out


def _caption(standing: Standing, building: Building) -> str:
    starts = [r.window_start for r in _windows(standing) if r.window_start]
    ends = [r.window_end for r in _windows(standing) if r.window_end]
    name = standing.chosen.criterion.limit.parameter_name
    when = f", {span(min(starts), max(ends), standing.campaign.site.zone_info)}" if starts and ends else ""
    return f"{building.name}: {name.lower()} in each zone at its governing point{when}."


def _windows(standing: Standing) -> Iterable[Result]:
    return (finding.governing for finding in standing.findings.values())


def _floor(standing: Standing, floor: Floor) -> dict[str, Any]:
    zones = list(floor.zones.all())
    widths = spans([getattr(zone, "area", None) for zone in zones])
    return {
        "name": floor.name,
        "level": "",
        "zones": [zone_cell(standing, zone, width) for zone, width in zip(zones, widths, strict=True)],
    }


def zone_cell(standing: Standing, zone: Zone, width: int = 6) -> dict[str, Any]:
    """The zone as ``parts/zone_cell.html`` takes it; ``width`` is its share of the floor in 24ths."""
    finding = standing.findings.get(zone.pk)
    cell: dict[str, Any] = {"name": zone.name, "url": standing.page_of(zone), "span": width, "measured": False}
    if finding is None:
        return cell
    each = finding.by_room.rooms
    return (
        cell
        | _filled(finding.governing, finding.fraction)
        | {
            "rooms": rooms.worst(finding),
            "chips": [rooms.look(room, "") for room in each] if len(each) > 1 else [],
        }
    )


def outdoor_cells(standing: Standing) -> list[dict[str, Any]]:
    """Every outdoor point of the site as a cell."""
    return [_outdoor_cell(standing, point, result) for point, result in standing.outdoor.items()]


def _outdoor_cell(standing: Standing, point: SamplingPoint, result: Result | None) -> dict[str, Any]:
    url = (
        reverse("deployments", args=[standing.campaign.key]) if result is None else reverse("result", args=[result.key])
    )
    cell: dict[str, Any] = {"name": f"Outdoors: {point.name}", "url": url, "measured": False}
    return cell if result is None else cell | _filled(result, None)


def _filled(result: Result, fraction: float | None) -> dict[str, Any]:
    comparable = result.verdict != Verdict.NOT_COMPARABLE
    return {
        "measured": True,
        "value": result_cells.number(result),
        "unit": result.unit if result.value is not None else "",
        "fraction": fraction if comparable else None,
        "verdict": result.verdict,
        "said": result.traced.words,
        "beside": indication_of(result),
    }
