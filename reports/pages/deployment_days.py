"""The course of a campaign: which instrument stood where on which day, and what happened to the logs since."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.urls import reverse
from django.utils import timezone

from campaigns.links import many
from campaigns.models import Campaign
from methods.figures.days import DayStrip
from methods.wording.numbers import span
from reports.queries.entered_rows import Entered, EnteredVisit, Log
from reports.services.result_cells import moment_text


def course(campaign: Campaign, entered: Entered) -> dict[str, Any] | None:
    """For ``reports/parts/course.html``; None before anything was deployed. One query.

    {ticks, rows: [{name, url, bars: [{x, width, url, title}]}], events: [(what, when)]}.
    """
    visits = entered.visits
    if not visits:
        return None
    now = timezone.now()
    strip = _strip(visits, now)
    instrument_page, bar = many("instrument"), _bars(campaign, visits, strip, now)
    rows: dict[int, dict[str, Any]] = {}
    for visit in visits:
        row = rows.get(visit.instrument_id)
        if row is None:
            address = instrument_page(visit.instrument_key)
            row = rows[visit.instrument_id] = {"name": visit.instrument, "url": address, "bars": []}
        row["bars"].append(bar(visit))
    return {
        "ticks": strip.ticks(campaign.site.zone_info),
        "rows": list(rows.values()),
        "events": _events(campaign, entered.logs),
        "time_zone": campaign.site.time_zone,
    }


def _strip(visits: Sequence[EnteredVisit], now: datetime) -> DayStrip:
    start = min(v.starts_at for v in visits)
    end = max(v.ends_at or max(now, v.starts_at) for v in visits)
    margin = max((end - start) * 0.01, timedelta(minutes=5))
    return DayStrip(start - margin, end + margin)


def _bars(
    campaign: Campaign, visits: Sequence[EnteredVisit], strip: DayStrip, now: datetime
) -> Callable[[EnteredVisit], dict[str, Any]]:
    zone, zone_page = campaign.site.zone_info, many("zone", campaign.key)
    outdoors = reverse("deployments", args=[campaign.key])

    def bar(visit: EnteredVisit) -> dict[str, Any]:
        end = visit.ends_at or max(now, visit.starts_at)
        x, width = strip.bar(visit.starts_at, end)
        still = ", still there" if visit.ends_at is None else ""
        return {
            "x": x,
            "width": width,
            "url": zone_page(visit.zone_key) if visit.zone_key else outdoors,
            "title": f"{visit.place}, {span(visit.starts_at, end, zone)}{still}",
        }

    return bar


def _events(campaign: Campaign, logs: Sequence[Log]) -> list[tuple[str, str]]:
    """What happened since, in words: logs handed in, revisions signed."""
    zone = campaign.site.zone_info
    events = [("Logs handed in", f"{len(logs)}, the last {moment_text(logs[-1].created_at, zone)}")] if logs else []
    by_state: dict[str, list[str]] = defaultdict(list)
    revisions = campaign.reports.order_by("revision").values_list("revision", "released_at", "withdrawn_at")
    for revision, released, withdrawn in revisions:
        if released is not None:
            what = "Withdrawn" if withdrawn else "Released"
            by_state[what].append(f"revision {revision}, {moment_text(released, zone)}")
    return [*events, *((what, "; ".join(said)) for what, said in by_state.items())]
