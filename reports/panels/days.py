"""The course of a campaign: which instrument stood where on which day, and what happened to the logs since."""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Count, Max
from django.urls import reverse
from django.utils import timezone

from campaigns.models import Campaign, Deployment
from reports.figures.days import Strip
from reports.panels.printed import moment_text
from reports.wording import span


def course(campaign: Campaign) -> dict[str, Any] | None:
    """For ``reports/parts/course.html``; None before anything was deployed. Three queries.

    {ticks, rows: [{name, url, bars: [{x, width, url, title, open}]}], events: [(what, when)]}
    """
    related = ("instrument", "point__room__zone")
    deployments = list(campaign.deployments.select_related(*related).order_by("instrument__name", "starts_at"))
    if not deployments:
        return None
    now = timezone.now()
    strip = _strip(deployments, now)
    rows: dict[int, dict[str, Any]] = {}
    for deployment in deployments:
        instrument = deployment.instrument
        address = reverse("instrument", args=[instrument.key])
        row = rows.setdefault(instrument.pk, {"name": instrument.name, "url": address, "bars": []})
        row["bars"].append(_bar(campaign, deployment, strip, now))
    return {
        "ticks": strip.ticks(campaign.site.zone_info),
        "rows": list(rows.values()),
        "events": _events(campaign),
        "time_zone": campaign.site.time_zone,
    }


def _strip(deployments: list[Deployment], now: datetime) -> Strip:
    start = min(d.starts_at for d in deployments)
    end = max(d.ends_at or max(now, d.starts_at) for d in deployments)
    margin = max((end - start) * 0.01, timedelta(minutes=5))
    return Strip(start - margin, end + margin)


def _bar(campaign: Campaign, deployment: Deployment, strip: Strip, now: datetime) -> dict[str, Any]:
    end = deployment.ends_at or max(now, deployment.starts_at)
    x, width = strip.bar(deployment.starts_at, end)
    room = deployment.point.room
    address = (
        reverse("zone", args=[campaign.key, room.zone.key]) if room else reverse("deployments", args=[campaign.key])
    )
    when = span(deployment.starts_at, end, campaign.site.zone_info)
    still = ", still there" if deployment.ends_at is None else ""
    return {"x": x, "width": width, "url": address, "title": f"{deployment.point}, {when}{still}"}


def _events(campaign: Campaign) -> list[tuple[str, str]]:
    """What happened since, in words: logs handed in, revisions signed."""
    zone = campaign.site.zone_info
    logs = campaign.uploads.aggregate(n=Count("pk"), last=Max("created_at"))
    found = []
    if logs["n"]:
        found.append(("Logs handed in", f"{logs['n']}, the last {moment_text(logs['last'], zone)}"))
    by_state: dict[str, list[str]] = defaultdict(list)
    for report in campaign.reports.only("revision", "released_at", "withdrawn_at").order_by("revision"):
        if report.released_at is not None:
            what = "Withdrawn" if report.withdrawn_at else "Released"
            by_state[what].append(f"revision {report.revision}, {moment_text(report.released_at, zone)}")
    return [*found, *((what, "; ".join(said)) for what, said in by_state.items())]
