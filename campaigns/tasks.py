"""What Celery runs: two tasks, whatever the work. They carry an id or nothing."""

from __future__ import annotations

import logging

from celery import shared_task
from django.db import connections
from structlog.contextvars import bind_contextvars

from campaigns.enqueue import RUN_JOB, handler_of, send
from campaigns.fair_order import next_for
from campaigns.hiccups import hiccup_of
from campaigns.models import Job, LostLease

log = logging.getLogger(__name__)


@shared_task(name=RUN_JOB)
def run_job(job_id: int) -> None:
    """Claim a job whose turn it is, this one where nobody has waited longer, and do it. Nothing happens when none is
    there to claim."""
    job = next_for(job_id)
    if job is None:
        return
    bind_contextvars(job=job.pk)  # for every line of the log until the next task
    try:
        state, code, message = handler_of(job.kind)(job)
        job.end(state, code, message)
    except LostLease:
        log.warning("Job %s was given to another worker.", job.pk)
    except Exception as error:
        _stumbled(job, error)


def _stumbled(job: Job, error: Exception) -> None:
    """What passes by itself is tried again; all else is said to have failed."""
    hiccup = hiccup_of(error)
    for connection in connections.all(initialized_only=True):
        if not connection.in_atomic_block:
            connection.close_if_unusable_or_obsolete()  # one that broke would break this, too
    try:
        if hiccup is None:
            log.exception("Job %s failed.", job.pk)
            message = "Fanlight stumbled over this. The operator's log has the details."
            job.end(Job.State.FAILED, "internal-error", message)
        else:
            log.warning("Job %s, attempt %s: %s (%s)", job.pk, job.attempts, hiccup.words, error)
            job.try_again(hiccup.words)
    except LostLease:
        log.warning("Job %s was given to another worker.", job.pk)
    except Exception:  # the database is away altogether: the lease runs out, and the sweep gives the job back
        log.exception("Job %s: how it ended could not be written.", job.pk)


@shared_task
def sweep() -> dict[str, int]:
    """Give back what stopped beating, send again what waits. Losing the broker therefore loses nothing."""
    returned = Job.give_back()
    # What was just given back has an old sending time, so it goes out with the rest.
    waiting = Job.to_send()
    for job_id in waiting:
        send(job_id)
    return {"returned": returned, "sent": len(waiting)}
