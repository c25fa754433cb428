"""The campaign's own facts: what was asked, how, with which levels."""

from __future__ import annotations

from typing import Any

from django.db.models import Count, Model, OuterRef, Subquery
from django.db.models.functions import Coalesce
from django.urls import reverse

from campaigns.models import Campaign, Deployment, PlannedPoint
from campaigns.views.where import address
from readings.models import Upload

Fact = tuple[str, Any] | tuple[str, Any, str]


def _count(model: type[Model]) -> Coalesce:
    """Each by itself: three joins at once make rows of every point with every deployment with every upload."""
    of_campaign = model._default_manager.filter(campaign=OuterRef("pk")).order_by()
    return Coalesce(Subquery(of_campaign.values("campaign").annotate(n=Count("pk")).values("n")), 0)


def facts(campaign: Campaign) -> list[Fact]:
    """One query for the counts."""
    counted = {"n_points": _count(PlannedPoint), "n_deployments": _count(Deployment), "n_uploads": _count(Upload)}
    counts: Any = Campaign.objects.filter(pk=campaign.pk).values(**counted).get()
    site = campaign.site
    return [
        ("Site", site.name, address(site)),
        ("Client", site.client or "–"),
        ("Measured", f"{campaign.starts_on:%Y-%m-%d} to {campaign.ends_on:%Y-%m-%d}"),
        ("Protocol", campaign.protocol or "none stated"),
        (
            "Called above, called below",
            f"above from {campaign.level_above * 100:g} % probability that the true value is above the limit, below up "
            f"to {campaign.level_below * 100:g} %; undecided in between",
        ),
        ("Planned points", str(counts["n_points"]), reverse("plan", args=[campaign.key])),
        ("Deployments", str(counts["n_deployments"]), reverse("deployments", args=[campaign.key])),
        ("Uploads", str(counts["n_uploads"]), reverse("uploads", args=[campaign.key])),
        ("Clock of the site", site.time_zone),
    ]


def next_step(campaign: Campaign, *, has_criteria: bool, has_visits: bool) -> dict[str, Any] | None:
    """What to do next while there is nothing to show, for ``parts/empty.html``; None when something can be judged."""
    steps = [
        (
            has_visits or campaign.planned_points.exists(),
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
            has_visits,
            "Measure",
            "A deployment says where an instrument stood, and from when to when. Readings find their rooms by it.",
            ("Deployments", "deployments"),
        ),
        (
            campaign.uploads.exists(),
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
