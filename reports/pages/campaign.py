"""The campaign's own facts: what was asked, how, with which levels."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from campaigns.links import address
from campaigns.models import Campaign
from campaigns.pages.agreement import standing_words
from campaigns.services.air_pressure import pressure_at
from methods.quantities.digits import percent
from methods.wording.numbers import sentence_case
from reports.queries.entered_rows import Entered

Fact = tuple[str, Any] | tuple[str, Any, str]


def facts(campaign: Campaign, entered: Entered) -> list[Fact]:
    site = campaign.site
    return [
        ("Site", site.name, address(site)),
        ("Client", site.client or "–"),
        ("Measured", f"{campaign.starts_on:%Y-%m-%d} to {campaign.ends_on:%Y-%m-%d}"),
        ("Protocol", campaign.protocol or "none stated"),
        (
            "Called above, called below",
            f"above from {percent(campaign.level_above)} probability that the true value is above the limit, below up "
            f"to {percent(campaign.level_below)}; undecided in between",
        ),
        (
            "Agreed with the client",
            sentence_case(standing_words(entered.agreements, site.zone_info)),
            reverse("agreement", args=[campaign.key]),
        ),
        ("Planned points", str(len(entered.planned)), reverse("plan", args=[campaign.key])),
        ("Deployments", str(len(entered.visits)), reverse("deployments", args=[campaign.key])),
        ("Uploads", str(len(entered.logs)), reverse("uploads", args=[campaign.key])),
        ("Clock of the site", site.time_zone),
        ("Air pressure", pressure_at(campaign).words),
    ]


def next_step(campaign: Campaign, entered: Entered, *, has_criteria: bool) -> dict[str, Any] | None:
    """What to do next while there is nothing to show, for ``parts/empty.html``; None when something can be judged."""
    steps = [
        (
            bool(entered.visits or entered.planned),
            "Choose the points to measure",
            "The plan says which points this campaign means to measure; what is planned and not measured is then "
            "shown as missing.",
            ("Plan", "plan"),
        ),
        (
            has_criteria,
            "Choose what the air is judged by",
            "Criteria are published limits, or values from a client's specification. Choosing them before the visit "
            "tells whether the instruments can decide them at all.",
            ("Criteria", "criteria"),
        ),
        (
            bool(entered.visits),
            "Measure",
            "A deployment says where an instrument stood, and from when to when. Readings find their rooms by it.",
            ("Deployments", "deployments"),
        ),
        (
            bool(entered.logs),
            "Hand in the logs",
            "Upload what the instruments stored, unchanged. Each file is kept as it came.",
            ("Uploads", "uploads"),
        ),
    ]
    for done, heading, text, (label, route) in steps:
        if not done:
            action = {"label": label, "url": reverse(route, args=[campaign.key]), "primary": True}
            return {"heading": heading, "text": text, "actions": [action]}
    return None
