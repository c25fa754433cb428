"""The one dispatcher of background work: the row first, the message after the commit, ids only."""

from __future__ import annotations

import logging
from collections.abc import Callable
from functools import partial

from celery import current_app
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models.functions import Now
from django.utils import timezone

from campaigns.models import Job, User

log = logging.getLogger(__name__)

#: What a job of a kind does. It gets the claimed job and returns (state, code, message).
Outcome = tuple[Job.State, str, str]
Handler = Callable[[Job], Outcome]
#: The task that carries an id to a worker, by name: this module knows nothing of what workers run.
RUN_JOB = "campaigns.tasks.run_job"
_handlers: dict[str, Handler] = {}
_labels: dict[str, str] = {}
_again: dict[str, str] = {}
UNDER_WAY = "It is done, or under way, already."


def handles(kind: str, label: str, again: str = "Try it again") -> Callable[[Handler], Handler]:
    """Register the function that does jobs of ``kind``; ``label`` is what people read, ``again`` what they press to
    have it done after it failed."""

    def register(handler: Handler) -> Handler:
        _handlers[kind] = handler
        _labels[kind] = label
        _again[kind] = again
        return handler

    return register


def handler_of(kind: str) -> Handler:
    return _handlers[kind]


def label_of(kind: str) -> str:
    return _labels.get(kind, kind)


def again_label_of(kind: str) -> str:
    return _again.get(kind, "Try it again")


def ask_again(job: Job, by: User | None) -> Job:
    """Ask once more for work that failed for a reason of ours. Raises ValidationError for any other."""
    if not job.may_be_asked_again:
        raise ValidationError(UNDER_WAY)
    return enqueue(job.kind, job.subject_id, organisation_id=job.organisation_id, owner=by)


def enqueue(kind: str, subject_id: int, *, organisation_id: int, owner: User | None) -> Job:
    """Ask for work. If the same work already waits, that job is returned: one run serves both.

    How the same work ended before needs nobody's look any more.
    """
    if kind not in _handlers:
        raise LookupError(f"no handler for jobs of kind {kind!r}")
    try:
        with transaction.atomic():
            job = Job.objects.create(kind=kind, subject_id=subject_id, organisation_id=organisation_id, owner=owner)
    except IntegrityError:
        waiting = Job.objects.filter(kind=kind, subject_id=subject_id, state=Job.State.QUEUED).first()
        if waiting is None:  # it was taken between the two statements: ask again
            return enqueue(kind, subject_id, organisation_id=organisation_id, owner=owner)
        if waiting.due_at is not None:  # it waits to be tried again: who asks now does not wait for that
            Job.objects.filter(pk=waiting.pk, state=Job.State.QUEUED).update(due_at=None)
            transaction.on_commit(partial(send, waiting.pk), robust=True)
        return waiting
    Job.objects.filter(
        kind=kind, subject_id=subject_id, state__in=Job.TO_LOOK_AT, acknowledged_at__isnull=True, pk__lt=job.pk
    ).update(acknowledged_at=timezone.now())
    transaction.on_commit(partial(send, job.pk), robust=True)
    return job


def send(job_id: int) -> None:
    """Hand the id to the broker. A broker that is away costs only time: the sweep sends again."""
    Job.objects.filter(pk=job_id).update(sent_at=Now())
    try:
        current_app.tasks[RUN_JOB].apply_async((job_id,), retry=False)
    except Exception:  # any transport's own error class
        log.exception("Job %s could not be sent; the sweep will send it again.", job_id)
