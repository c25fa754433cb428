"""What is being done for a campaign right now, when it was last judged, and how often a page should ask again."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from campaigns.models import Campaign, Job
from campaigns.pages.jobs import rows_of
from readings.job_kinds import MOVE_READINGS
from readings.pages.alerts import AlertLine, of_campaign
from readings.pages.alerts import token as alert_token
from reports.job_kinds import EVALUATE
from reports.models import Evaluation
from reports.services.result_cells import moment_text

MOVING = (Job.State.QUEUED, Job.State.RUNNING)
#: Often while something moves, seldom while nothing does.
POLL_MOVING, POLL_IDLE = "2s", "30s"


@dataclass(frozen=True)
class Work:
    """``rows``: jobs under way, for ``parts/job.html``. ``alerts``: open ones first. ``judged``: when and by which
    method, in words; "" if never. ``failed``: why the last judging failed; "" otherwise. ``token`` changes whenever
    the page would read differently.
    """

    rows: list[dict[str, Any]]
    judged: str
    failed: str
    alerts: list[AlertLine]
    token: str
    every: str


def work_of(campaign: Campaign) -> Work:
    """Four queries, one more for each kind of job under way, and whether anybody is there to do it."""
    evaluation = Evaluation.objects.filter(campaign=campaign).first()
    files = Q(kind__in=MOVE_READINGS, subject_id__in=campaign.uploads.values("pk"))
    asked = Q(kind=EVALUATE, subject_id=campaign.pk) | files
    jobs = list(Job.objects.filter(asked, state__in=MOVING).select_related("owner").order_by("pk")[:12])
    last = Job.objects.filter(kind=EVALUATE, subject_id=campaign.pk, state__in=Job.ENDED).order_by("-ended_at").first()
    failed = last.message if last is not None and last.state == Job.State.FAILED else ""
    alerts = of_campaign(campaign)
    return Work(
        rows=[row["job"] for row in rows_of(jobs)],  # which notes what nobody is there to do
        judged=_judged(campaign, evaluation),
        failed=failed,
        alerts=alerts,
        token=_token(evaluation, jobs, last, alert_token(alerts)),
        every=POLL_MOVING if jobs else POLL_IDLE,
    )


def _judged(campaign: Campaign, evaluation: Evaluation | None) -> str:
    if evaluation is None:
        return ""
    return f"{moment_text(evaluation.at, campaign.site.zone_info)} by method version {evaluation.method}"


def _token(evaluation: Evaluation | None, jobs: Sequence[Job], last: Job | None, alerts: str) -> str:
    said = [
        evaluation and (evaluation.at.isoformat(), evaluation.digest),
        [(job.pk, job.state, job.done, job.unattended) for job in jobs],
        last and (last.pk, last.state),
        alerts,
    ]
    return hashlib.sha256(repr(said).encode()).hexdigest()[:16]
