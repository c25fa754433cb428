"""The same question asked again: other campaigns of the site that were judged by the same limit, zone beside zone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any

from django.urls import reverse

from campaigns.models import Campaign, Criterion
from campaigns.pages.chosen_criteria import Chosen, Option, of_key
from methods.wording.numbers import rounded_to
from reports.models import Finding, Result
from reports.pages.zone_ranking import Standing, standing
from reports.services import result_cells

COLUMNS = [
    {"label": "Zone"},
    {"label": "Before ± U", "num": True},
    {"label": "Verdict before"},
    {"label": "After ± U", "num": True},
    {"label": "Verdict after"},
    {"label": "Change ± U", "num": True},
]
NOTE = (
    "Before and after compare the governing result of each zone. They differ by what was done in between and by "
    "everything else: temperature, humidity, airing, season, instrument. The uncertainty of a change takes the two "
    "visits as independent, which makes it rather too large for one instrument that was used twice."
)


@dataclass(frozen=True)
class Repeat:
    """Another campaign, with its own criterion for the same limit."""

    campaign: Campaign
    chosen: Chosen

    @property
    def name(self) -> str:
        return f"{self.campaign.name} ({_days(self.campaign)})"


def repeats(campaign: Campaign, current: Chosen) -> list[Repeat]:
    """Other campaigns of the site with a finding for the same limit, the earliest first. One query."""
    rows = Criterion.objects.filter(limit=current.criterion.limit_id, campaign__site=campaign.site_id)
    judged = rows.exclude(campaign=campaign).filter(findings__isnull=False).select_related("campaign__site", "limit")
    criteria = judged.order_by("campaign__starts_on", "campaign__pk").distinct()
    return [Repeat(row.campaign, Chosen(row, current.limit)) for row in criteria]


def shown(others: Sequence[Repeat], key: str | None) -> Repeat | None:
    """The campaign whose findings the page is to show instead of its own. Http404 for a wrong key."""
    return of_key({other.campaign.key: other for other in others}, key) if key else None


def switch(campaign: Campaign, current: Chosen, others: Sequence[Repeat], now: Repeat | None) -> list[Option]:
    """For ``parts/switch.html``: the campaigns in the order of their days."""
    base = f"?criterion={current.criterion.key}"
    own = (campaign.starts_on, campaign.pk, (f"This campaign ({_days(campaign)})", base, now is None))
    rest = [(o.campaign.starts_on, o.campaign.pk, (o.name, f"{base}&shown={o.campaign.key}", o is now)) for o in others]
    return [option for _, _, option in sorted([own, *rest])]


def standing_of(other: Repeat, found: Standing) -> Standing:
    """How the same zones stood in the other campaign."""
    return standing(other.campaign, other.chosen, found.buildings)


def comparison(standing: Standing, theirs: Standing) -> dict[str, Any]:
    """Zones measured in both campaigns as rows of ``parts/table.html``, the largest change first."""
    before, after = (theirs, standing) if _order(theirs.campaign) < _order(standing.campaign) else (standing, theirs)
    both = [zone for zone in standing.zones if zone.pk in before.findings and zone.pk in after.findings]
    rows = [_row(standing, before.findings[zone.pk], after.findings[zone.pk]) for zone in both]
    only = [z.name for z in standing.zones if (z.pk in before.findings) != (z.pk in after.findings)]
    return {
        "caption": f"{before.campaign.name} and {after.campaign.name}. {standing.chosen.text}.",
        "columns": COLUMNS,
        "rows": [row for _, row in sorted(rows, key=lambda pair: -pair[0])],
        "only_once": only,
        "note": NOTE,
        "url": reverse("campaign", args=[theirs.campaign.key]),
    }


def _row(standing: Standing, before: Finding, after: Finding) -> tuple[float, list[Any]]:
    earlier, later = before.governing, after.governing
    size, change = _change(earlier, later)
    return size, [
        {"text": after.zone.name, "url": standing.page_of(after.zone)},
        result_cells.value_cell(earlier, reverse("result", args=[earlier.key])),
        result_cells.verdict_cell(earlier),
        result_cells.value_cell(later, reverse("result", args=[later.key])),
        result_cells.verdict_cell(later),
        change,
    ]


def _change(earlier: Result, later: Result) -> tuple[float, Any]:
    """Its size, for sorting, and the cell. A result without uncertainty, or below detection, has no change."""
    censored = any(
        result_cells.number(r).startswith(("<", "≥")) or " to " in result_cells.number(r) for r in (earlier, later)
    )
    if earlier.value is None or later.value is None or not earlier.expanded or not later.expanded or censored:
        return 0.0, {"text": "not determined"}
    difference, spread = later.value - earlier.value, hypot(earlier.expanded, later.expanded)
    number, uncertainty = rounded_to(abs(difference), spread)
    sign = "+" if difference > 0 else "−"
    clear = "" if abs(difference) > spread else "within its uncertainty"
    text = f"{sign}{number} ± {uncertainty}".replace(" ", result_cells.NO_BREAK)
    return abs(difference), {"text": text, "unit": later.unit, "note": clear}


def _order(campaign: Campaign) -> tuple[Any, int]:
    return campaign.starts_on, campaign.pk


def _days(campaign: Campaign) -> str:
    same = campaign.starts_on == campaign.ends_on
    return f"{campaign.starts_on}" if same else f"{campaign.starts_on} to {campaign.ends_on}"
