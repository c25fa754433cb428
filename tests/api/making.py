"""Rows that the shared factories do not make: uploads with their readings, results with their finding, reports."""

from __future__ import annotations

import hashlib
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

import numpy as np

from campaigns.models import Campaign, Channel, Criterion, Deployment, Instrument, Limit, Site
from methods.quantities.moments import stamp_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.content.canonical import digest
from reports.models import Finding, Report, Result
from reports.trace import BudgetPart
from tests import factories as make
from tests.tracing import reading_at, stored_budget, stored_rooms, stored_trace

_numbers = count()


def campaign_on(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site)


def deployment_on(site: Site, **more: Any) -> Deployment:
    if "campaign" not in more:
        more["campaign"] = campaign_on(site)
    return make.DeploymentFactory.create(**more)


def upload_to(campaign: Campaign, instrument: Instrument | None = None, **more: Any) -> Upload:
    number = next(_numbers)
    sha256 = hashlib.sha256(str(number).encode()).hexdigest()
    wanted = {"filename": f"log {number}.csv", "size": 100, "sha256": sha256} | more
    return Upload.objects.create(campaign=campaign, instrument=instrument, **wanted)


def channel_of(deployment: Deployment, parameter: str = "formaldehyde") -> Channel:
    return deployment.instrument.channels.select_related("spec").get(spec__parameter=parameter)


def store(
    deployment: Deployment,
    values: list[float],
    *,
    first: datetime,
    every_s: float = 10,
    upload: Upload | None = None,
    channel: Channel | None = None,
    flags: list[int] | None = None,
) -> Upload:
    """Readings of the deployment's instrument: ``first`` is the logger's own wall clock, lines count from 2."""
    n = len(values)
    upload = upload or upload_to(deployment.campaign, deployment.instrument)
    channel = channel or channel_of(deployment)
    stamps = stamp_ms(first) + (np.arange(n) * every_s * 1000).astype(np.int64)
    nth = (np.arange(n) if every_s == 0 else np.zeros(n)).astype(np.int64)
    lines, flag = np.arange(2, n + 2), np.array(flags or [0] * n, np.int64)
    write([Batch(channel.pk, upload.pk, stamps, nth, np.array(values, float), flag, lines)])
    return upload


def criterion_for(campaign: Campaign) -> Criterion:
    """A criterion that the campaign does not have yet."""
    taken = campaign.criteria.values("limit")
    limit = Limit.objects.filter(organisation__isnull=True, parameter="formaldehyde").exclude(pk__in=taken)[0]
    return make.CriterionFactory.create(campaign=campaign, limit=limit)


def result_for(deployment: Deployment, criterion: Criterion | None = None, **more: Any) -> Result:
    criterion = criterion or criterion_for(deployment.campaign)
    wanted: dict[str, Any] = {
        "point": deployment.point,
        "verdict": "below",
        "value": 0.041,
        "u": 0.006,
        "p_above": 0.0,
        "unit": "mg/m³",
        "reading_count": 180,
        "coverage": 0.98,
        "window_start": deployment.starts_at,
        "window_end": deployment.starts_at + timedelta(minutes=30),
        "comparability": "yes",
        "reasons": [],
        "budget": stored_budget(BudgetPart("zero", 0.002, 1.0, "instrument type", missing=False)),
        "trace": stored_trace(first=reading_at(2), last=reading_at(181)),
        "method": "1",
        "digest": hashlib.sha256(b"result").hexdigest(),
    }
    return Result.objects.create(criterion=criterion, deployment=deployment, **wanted | more)


def finding_for(deployment: Deployment, **more: Any) -> Finding:
    result = result_for(deployment)
    room = deployment.point.room
    assert room is not None
    wanted: dict[str, Any] = {
        "verdict": result.verdict,
        "fraction": 0.41,
        "statement": "The air of this zone is below the limit.",
        "rooms": stored_rooms("below", "unmeasured"),
        "method": "1",
        "digest": hashlib.sha256(b"finding").hexdigest(),
    }
    return Finding.objects.create(criterion=result.criterion, zone=room.zone, governing=result, **wanted | more)


def report_on(campaign: Campaign, **more: Any) -> Report:
    wanted: dict[str, Any] = {
        "revision": campaign.reports.count() + 1,
        "client": campaign.site.client,
        "content": (content := more.pop("content", {"sentences": ["Everything that was said."]})),
        "digest": digest(content),
        "signed_by": make.UserFactory.create(),
        "signed_name": "A. Consultant",
        "signed_at": datetime(2026, 10, 1, 9, 0, tzinfo=UTC),
    }
    return Report.objects.create(campaign=campaign, **wanted | more)
