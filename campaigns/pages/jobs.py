"""Jobs as rows of the list of work, and of every page that says what is being done."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Max
from django.urls import reverse

from campaigns import job_subjects
from campaigns.enqueue import again_label_of
from campaigns.models import Job
from campaigns.services.workers import NO_WORKER, note_unattended

#: How often a row asks again: often while it moves, seldom while it only waits.
POLL_RUNNING, POLL_QUEUED = "2s", "10s"


def rows_of(jobs: list[Job], stands_in: str = "") -> list[dict[str, Any]]:
    """What ``campaigns/job_row.html`` needs, for each job. ``stands_in``: query of the list, to come back to."""
    note_unattended(jobs)
    subjects, latest = job_subjects.titles(jobs), _latest(job for job in jobs if job.may_be_asked_again)
    return [row_of(job, subjects[job.pk], stands_in, is_latest=job.pk in latest) for job in jobs]


def _latest(failed: Iterable[Job]) -> set[int]:
    """Those of which nothing was asked for again since. No query where there is none."""
    asked = [(job.kind, job.subject_id) for job in failed]
    if not asked:
        return set()
    same = Job.objects.filter(kind__in={kind for kind, _ in asked}, subject_id__in={subject for _, subject in asked})
    return set(
        same.order_by().values_list("kind", "subject_id").annotate(last=Max("pk")).values_list("last", flat=True)
    )


def row_of(job: Job, subject: job_subjects.Subject, stands_in: str = "", *, is_latest: bool = False) -> dict[str, Any]:
    look = job.state in Job.TO_LOOK_AT and job.acknowledged_at is None
    labels = {Job.State.ATTENTION.value: "Decide", Job.State.FAILED.value: "See why"}
    return {
        "job": {
            "id": str(job.key),
            "state": job.state,
            "title": subject.name,
            "url": subject.url,
            "done": job.done,
            "total": job.total,
            "counts": _counts(job),
            "message": f"{NO_WORKER} {job.message}".strip() if job.unattended else job.message,
            "when": _when(job, ZoneInfo(subject.time_zone)),
            "action_label": labels.get(job.state, "") if look else "",
        },
        "poll_url": reverse("job-row", args=[job.key]),
        "poll_every": POLL_RUNNING if job.state == Job.State.RUNNING else POLL_QUEUED,
        "acknowledge_url": reverse("job-acknowledge", args=[job.key]) + stands_in if look else "",
        "again_url": reverse("job-again", args=[job.key]) + stands_in if is_latest else "",
        "again_label": again_label_of(job.kind),
    }


def _counts(job: Job) -> str:
    if not job.total or job.state != Job.State.RUNNING:
        return ""
    return f"{job.done:,} of {job.total:,} {job.unit}".strip()


def _when(job: Job, zone: ZoneInfo) -> str:
    """On the clock of the site, which says so only where there is none."""
    name = " UTC" if zone.key == "UTC" else ""
    parts = [f"asked for {job.created_at.astimezone(zone):%Y-%m-%d %H:%M}{name}"]
    if job.owner:
        parts[0] += f" by {job.owner}"
    if job.attempts > 1:
        parts.append(f"tried {job.attempts} times")
    if job.due_at and job.state == Job.State.QUEUED:
        parts.append(f"tried again from {job.due_at.astimezone(zone):%H:%M:%S}{name}")
    if job.ended_at:
        parts.append(f"ended {job.ended_at.astimezone(zone):%Y-%m-%d %H:%M}{name}")
    if job.acknowledged_at:
        parts.append("seen")
    return ", ".join(parts)
