"""Several guideline sets side by side: zones down, criteria across, each in its own unit, averaging and terms."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from django.urls import reverse

from campaigns.models import Campaign, Zone
from campaigns.pages.chosen_criteria import Chosen
from campaigns.services.limit_terms import reference_of
from methods.limits.model import LimitDefinition, PopulationScope
from methods.quantities.substances import SUBSTANCES
from reports.models import Finding, Result
from reports.services import result_cells

#: Whose air a column is about, in the order in which columns stand.
KINDS = {
    "people": "For people in buildings",
    "scheme": "Voluntary schemes and acceptance tests",
    "work": "For workers",
    "outdoor": "For outdoor air",
}


@dataclass(frozen=True)
class CriterionColumn:
    """A criterion and the words of its head."""

    chosen: Chosen
    name: str
    value: str
    statistic: str
    terms: str
    url: str


@dataclass(frozen=True)
class ParameterGroup:
    """Columns of one body and kind. ``document``: what they have in common."""

    kind: str
    body: str
    columns: list[CriterionColumn]


@dataclass(frozen=True)
class ZoneRow:
    """A zone; ``cells`` per column: {verdict, said, value, unit, url, why}, or {} where it was not measured."""

    zone: Zone
    url: str
    cells: list[dict[str, Any]]


def kind_of(limit: LimitDefinition) -> str:
    """Which column group a limit belongs to: whose air its document is about."""
    scopes = set(limit.scopes)
    if scopes & {PopulationScope.CERTIFICATION}:
        return "scheme"
    if scopes & {PopulationScope.DWELLING, PopulationScope.PUBLIC}:
        return "people"
    return "work" if PopulationScope.WORKPLACE in scopes else "outdoor"


def groups(criteria: Sequence[Chosen]) -> list[ParameterGroup]:
    """Columns by kind and body; within a body in the order of the criteria."""
    order = list(KINDS)
    placed = sorted(criteria, key=lambda chosen: (order.index(kind_of(chosen.limit)), chosen.limit.body))
    grouped = groupby(placed, key=lambda chosen: (kind_of(chosen.limit), chosen.limit.body))
    return [ParameterGroup(KINDS[kind], body, [_column(chosen) for chosen in some]) for (kind, body), some in grouped]


def _column(chosen: Chosen) -> CriterionColumn:
    reference = reference_of(chosen.limit)
    return CriterionColumn(
        chosen=chosen,
        name=SUBSTANCES[chosen.limit.parameter].name,
        value=chosen.limit.value_text(),
        statistic=chosen.limit.statistic,
        terms=", ".join(
            filter(None, [chosen.limit.edition, reference.text if reference else "", chosen.limit.population])
        ),
        url=reverse("limit", args=[chosen.criterion.limit.key]),
    )


def rows(campaign: Campaign, parameter_groups: Sequence[ParameterGroup]) -> list[ZoneRow]:
    """Every zone of the site, floor by floor from the top. Two queries."""
    zones = Zone.objects.filter(floor__building__site=campaign.site_id).select_related("floor__building")
    ordered = zones.order_by("floor__building__name", "-floor__level", "name")
    columns = [column for group in parameter_groups for column in group.columns]
    criteria = [column.chosen.criterion.pk for column in columns]
    findings = Finding.objects.filter(criterion__in=criteria).select_related("governing")
    by_place = {(finding.zone_id, finding.criterion_id): finding for finding in findings}
    return [
        ZoneRow(
            zone,
            reverse("zone", args=[campaign.key, zone.key]),
            [_cell(by_place.get((zone.pk, column.chosen.criterion.pk))) for column in columns],
        )
        for zone in ordered
    ]


def _cell(finding: Finding | None) -> dict[str, Any]:
    if finding is None:
        return {}
    worst = finding.governing
    why = "" if worst.comparability == "yes" else _why(worst)
    return {
        "verdict": worst.verdict,
        "said": worst.traced.words,
        "value": f"{result_cells.number(worst)} {result_cells.spread(worst)}".strip(),
        "unit": worst.unit if worst.value is not None else "",
        "url": reverse("result", args=[worst.key]),
        "indicative": worst.comparability == "indicative",
        "context": worst.traced.is_context,
        "why": why,
    }


def _why(result: Result) -> str:
    code = result.stated_reasons[0].code if result.stated_reasons else ""
    return IN_GENERAL.get(code) or result_cells.why(result)


#: Reasons that carry each visit's own numbers, said here for all of them.
IN_GENERAL = {
    "short_visit": "The visit is shorter than the time the limit averages over.",
    "short_shift": "Readings cover too little of a shift.",
    "too_little": "Usable readings cover too little of the averaging time.",
    "too_few": "There are too few readings in the averaging time.",
    "coarse_interval": "The instrument logged too rarely for this averaging time.",
    "slow_sensor": "The sensor settles too slowly for this averaging time.",
}


def reasons(zone_rows: Sequence[ZoneRow]) -> list[tuple[str, str]]:
    """Why cells are not comparable or only indicative, each reason once, with the zones it is true of."""
    said: dict[str, list[str]] = {}
    for row in zone_rows:
        for cell in row.cells:
            if cell.get("why") and row.zone.name not in said.setdefault(cell["why"], []):
                said[cell["why"]].append(row.zone.name)
    every = len([row for row in zone_rows if any(row.cells)])
    return [
        ("every measured zone" if len(names) == every else ", ".join(names), words) for words, names in said.items()
    ]
