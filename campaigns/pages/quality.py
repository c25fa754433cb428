"""Acceptance limits as they were set, newest first, and whether measuring had begun."""

from __future__ import annotations

from typing import Any

from campaigns.models import AcceptanceLimit, Campaign
from campaigns.services.acceptance_limits import measuring_began
from methods.quality.acceptance import MEASURES
from methods.quantities.digits import in_digits
from methods.wording.numbers import minute

SET: list[dict[str, Any]] = [
    {"label": "Measure"},
    {"label": "Acceptance limit"},
    {"label": "Set"},
    {"label": "By"},
]
LATE = "set after measuring began"
USUAL = "common practice, no source"


def began(campaign: Campaign) -> str:
    """When measuring began, on the clock of the site; "" before that."""
    at = measuring_began(campaign)
    return minute(at, campaign.site.zone_info) if at else ""


def settings_made(campaign: Campaign) -> list[list[Any]]:
    """Every limit that was ever set, as rows of ``parts/table.html``."""
    began_at, zone = measuring_began(campaign), campaign.site.zone_info
    rows = []
    for row in campaign.acceptance_limits.select_related("by").order_by("-set_at", "-pk"):
        late = began_at is not None and row.set_at >= began_at
        when = {"text": minute(row.set_at, zone), "note": LATE if late else "before measuring began"}
        rows.append([str(row), {"text": percent_text(row), "note": USUAL if row.is_usual else ""}, when, _by(row)])
    return rows


def percent_text(row: AcceptanceLimit) -> str:
    if row.percent is None:
        return "none from then on"
    return f"{MEASURES[row.measure].comparison} {in_digits(row.percent)} %"


def _by(row: AcceptanceLimit) -> str:
    return (row.by.get_full_name() or str(row.by)) if row.by else "–"
