"""One zone of a campaign: what was found by every criterion, at every point, and what stands beside it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Q
from django.urls import reverse

from campaigns.models import Campaign, ChannelSpec, Deployment, SamplingPoint, Zone
from campaigns.pages.chosen_criteria import Chosen
from methods.quantities import substances
from methods.quantities.substances import SUBSTANCES
from methods.wording.meters import BESIDE, sentences
from reports.models import Finding, Result
from reports.pages import overdue, rooms
from reports.services import result_cells
from reports.services.result_values import is_without_timetable
from reports.services.time_of_use import DAYS_IN_USE, SHARE_ABOVE, TIME_OF_USE

ROOM_AIR = SamplingPoint.Kind.ROOM_AIR


@dataclass(frozen=True)
class ZoneMeasurements:
    """``deployments`` of the zone in time order; ``findings`` by criterion; ``results`` of the chosen criterion in the
    zone, room air first, the worst on top; ``outdoor`` those of the outdoor points."""

    deployments: list[Deployment]
    findings: dict[int, Finding]
    results: list[Result]
    outdoor: list[Result]

    @property
    def room_air(self) -> list[Result]:
        return [result for result in self.results if result.point.kind == ROOM_AIR]


def measured_in(campaign: Campaign, zone: Zone, current: Chosen | None) -> ZoneMeasurements:
    """Three queries."""
    deployments = campaign.deployments.filter(point__room__zone=zone).select_related("point__room", "instrument")
    related = ("governing__point__room", "governing__deployment__instrument")
    findings = Finding.objects.filter(zone=zone, criterion__campaign=campaign).select_related(*related)
    here: list[Result] = []
    if current is not None:
        place = Q(point__room__zone=zone) | Q(point__room__isnull=True)
        rows = current.criterion.results.filter(place).select_related("point__room", "deployment__instrument")
        here = sorted(rows, key=lambda r: (r.point.kind != ROOM_AIR, *r.concern))
    return ZoneMeasurements(
        list(deployments),
        {finding.criterion_id: finding for finding in findings},
        [result for result in here if result.point.room_id],
        [result for result in here if not result.point.room_id],
    )


def parameters(deployments: Sequence[Deployment]) -> list[str]:
    """What the instruments that stood here measure, in the order of ``SUBSTANCES``. One query."""
    types = {deployment.instrument.type_id for deployment in deployments}
    specs = ChannelSpec.objects.filter(instrument_type__in=types)
    measured = set(specs.values_list("parameter", flat=True).order_by())
    return [code for code in SUBSTANCES if code in measured]


def conditions(campaign: Campaign, zone: Zone, shown: str) -> list[str]:
    """Temperature, humidity and CO2, as far as the instruments that stood here measure them. One query."""
    used = campaign.deployments.filter(point__room__zone=zone).values("instrument__type")
    specs = ChannelSpec.objects.filter(instrument_type__in=used, parameter__in=substances.conditions())
    measured = set(specs.values_list("parameter", flat=True).order_by())
    return [code for code in substances.conditions() if code in measured and code != shown]


def meters(results: Sequence[Result]) -> list[str]:
    """How many of the results rest on a failed check, or on data of a type alone: a sentence each."""
    return list(sentences(result.evidence for result in results))


# --- tables -----------------------------------------------------------------------------------------------------------

FINDINGS: list[dict[str, Any]] = [
    {"label": "Criterion"},
    {"label": "Result ± U", "num": True},
    {"label": "Verdict"},
    {"label": "Probability above", "num": True},
    {"label": "Governing point"},
    {"label": "Comparable, and what would decide it"},
]
POINTS: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "Result ± U", "num": True},
    {"label": "Fraction of the limit"},
    {"label": "Verdict"},
    {"label": "Window"},
    {"label": "Readings", "num": True},
]


def findings_table(criteria: Sequence[Chosen], measured: ZoneMeasurements, checked: Collection[int]) -> list[list[Any]]:
    """Every criterion of the campaign; one that was not measured here says so. ``checked``: ids of limits that
    somebody of the house has held against their document."""
    return [
        _finding_row(chosen, measured.findings.get(chosen.criterion.pk), chosen.criterion.limit_id in checked)
        for chosen in criteria
    ]


def _finding_row(chosen: Chosen, finding: Finding | None, is_checked: bool) -> list[Any]:
    unseen = "; check against the document" if chosen.limit.needs_check and not is_checked else ""
    criterion = {
        "text": chosen.limit.text(),
        "url": f"?criterion={chosen.criterion.key}",
        "note": f"{SUBSTANCES[chosen.limit.parameter].name}, {chosen.limit.population}{unseen}",
    }
    if finding is None:
        return [criterion, "–", {"verdict": "unmeasured"}, "–", "–", "–"]
    worst = finding.governing
    return [
        criterion,
        result_cells.value_cell(worst, reverse("result", args=[worst.key])),
        result_cells.verdict_cell(worst, rooms.worst(finding)),
        result_cells.probability_text(worst),
        {"text": str(worst.point), "note": result_cells.taken_with(worst)},
        comparing(worst, finding.advice),
    ]


def in_use(finding: Finding | None) -> list[tuple[str, str]]:
    """What the governing result says of the time of use: when it is, and how much of it was above the limit."""
    details = finding.governing.traced.details if finding else ()
    return [(name, words) for name, words in details if name in (TIME_OF_USE, DAYS_IN_USE, SHARE_ABOVE)]


def lacks_timetable(finding: Finding | None) -> bool:
    """Whether only a timetable of use is missing to compare it."""
    return finding is not None and is_without_timetable(finding.governing)


def comparing(result: Result, advice: str) -> str:
    """Whether the result may be compared, why not, and what would decide it, in words."""
    head = {"yes": "", "indicative": f"An indication only: {result_cells.why(result)}", "no": result_cells.why(result)}
    return f"{head[result.comparability]} {advice}".strip() or "yes"


def _meter(result: Result) -> str:
    return f"; {BESIDE[result.evidence]}" if result.evidence else ""


def points_table(
    current: Chosen, results: Sequence[Result], campaign: Campaign, late: Mapping[int, date]
) -> list[list[Any]]:
    """Results of points as rows, each leading to where its number comes from. ``late``: see ``pages.overdue``."""
    zone, upper = campaign.site.zone_info, current.limit.upper
    rows = []
    for result in results:
        fraction = result.value / upper if result.value is not None and upper and not current.limit.lower else None
        url = reverse("result", args=[result.key])
        kind = "" if result.point.kind == ROOM_AIR else f"{result.point.get_kind_display().lower()}, "
        rows.append(
            [
                {
                    "text": str(result.point),
                    "url": url,
                    "note": f"{kind}{result_cells.taken_with(result)}{_meter(result)}{overdue.beside(late, result)}",
                },
                result_cells.value_cell(result),
                result_cells.fraction_cell(result, fraction),
                result_cells.verdict_cell(result),
                result_cells.window_text(result, zone),
                str(result.reading_count),
            ]
        )
    return rows
