"""What a worker does, or did last, with each of some uploads."""

from __future__ import annotations

from collections.abc import Iterable

from campaigns.models import Job
from campaigns.services.workers import note_unattended
from readings.job_kinds import READ_UPLOAD


def jobs_of(upload_ids: Iterable[int]) -> dict[int, Job]:
    """The latest job of reading each upload, by its id, and whether anybody is there to do it."""
    latest: dict[int, Job] = {}
    for job in Job.objects.filter(kind=READ_UPLOAD, subject_id__in=list(upload_ids)).order_by("pk"):
        latest[job.subject_id] = job
    note_unattended(latest.values())
    return latest
