"""What Celery runs: two tasks, whatever the work. They carry an id or nothing."""

from __future__ import annotations

import logging
from datetime import timedelta

from celery import shared_task
from django.conf import settings
from django.utils import timezone
from structlog.contextvars import bind_contextvars

from campaigns.enqueue import RUN_JOB, handler_of, send
from campaigns.models import Job, LostLease

log = logging.getLogger(__name__)


@shared_task(name=RUN_JOB)
def run_job(job_id: int) -> None:
    """Claim the job and do it. Nothing happens when it is not there to claim."""
    job = Job.take(job_id)
    if job is None:
        return
    bind_contextvars(job=job.pk)  # for every line of the log until the next task
    try:
        state, code, message = handler_of(job.kind)(job)
        job.end(state, code, message)
    except LostLease:
        log.warning("Job %s was given to another worker.", job_id)
    except Exception:
        log.exception("Job %s failed.", job_id)
        job.end(Job.State.FAILED, "internal-error", "Fanlight stumbled over this. The operator's log has the details.")


@shared_task
def sweep() -> dict[str, int]:
    """Give back what stopped beating, send again what waits. Losing the broker therefore loses nothing."""
    now = timezone.now()
    returned = Job.give_back(now)
    # What was just given back has an old sending time, so it goes out with the rest.
    waiting = Job.waiting_since(now - timedelta(seconds=settings.JOB_RESEND_SECONDS))
    for job_id in waiting:
        send(job_id)
    return {"returned": returned, "sent": len(waiting)}
