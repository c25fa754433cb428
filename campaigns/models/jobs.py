"""The job row: the truth about every piece of background work.

A broker only carries ids. It may lose one, or deliver it twice: a job is claimed by a conditional UPDATE, so a second
delivery finds nothing to claim, and the sweep sends again whatever the database says is waiting.
"""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils import timezone

from campaigns.models.base import Record
from campaigns.models.people import Organisation, User

#: How often work in small steps says that it is alive.
BEAT = timedelta(seconds=1)


class LostLease(Exception):
    """Another worker took the job over; this one must stop without a trace."""


class Job(Record):
    """One piece of background work. This row, and not the broker, is the truth about it."""

    class State(models.TextChoices):
        QUEUED = "queued", "queued"
        RUNNING = "running", "running"
        DONE = "done", "done"
        ATTENTION = "attention", "needs attention"
        FAILED = "failed", "failed"

    #: Code of a run in whose place the same work was asked for again, and what is said of it.
    SUPERSEDED, INSTEAD = "superseded", "The same was asked for again meanwhile: that run takes the place of this one."
    ENDED = (State.DONE, State.ATTENTION, State.FAILED)
    #: How it ended is somebody's business until it is acknowledged, or the same work is asked for again.
    TO_LOOK_AT = (State.ATTENTION, State.FAILED)

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="jobs")
    owner = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="jobs")
    kind = models.CharField(max_length=40)
    subject_id = models.BigIntegerField(help_text="Row the work is about; which table follows from the kind.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.QUEUED)
    done = models.BigIntegerField(default=0)
    total = models.BigIntegerField(default=0)
    unit = models.CharField(max_length=20, blank=True, help_text="What is counted: bytes, points.")
    attempts = models.PositiveSmallIntegerField(default=0)
    claim = models.UUIDField(null=True, editable=False)
    sent_at = models.DateTimeField(default=timezone.now)
    started_at = models.DateTimeField(null=True)
    beat_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)
    code = models.CharField(max_length=40, blank=True, help_text="Message code of how it ended.")
    message = models.TextField(blank=True)
    acknowledged_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-created_at", "-id")
        indexes = (
            models.Index(fields=("state", "sent_at"), name="job_by_state"),
            models.Index(fields=("kind", "subject_id"), name="job_by_subject"),
        )
        constraints = (
            # Work that is asked for while the same work waits is the same work. A running job does not count: what
            # changed since it started needs another run.
            models.UniqueConstraint(fields=("kind", "subject_id"), condition=Q(state="queued"), name="job_queued_once"),
        )

    #: Whether nobody is there to do it; noted by ``campaigns.services.workers``.
    unattended = False

    def __str__(self) -> str:
        return f"{self.kind} {self.subject_id}: {self.state}"

    @property
    def ended(self) -> bool:
        return self.state in self.ENDED

    # --- the worker's verbs ---

    @classmethod
    def take(cls, job_id: int) -> Job | None:
        """Claim a queued job. None if it is not there to take: already claimed, ended, or too often tried."""
        now, claim = timezone.now(), uuid.uuid4()
        taken = cls.objects.filter(pk=job_id, state=cls.State.QUEUED).update(
            state=cls.State.RUNNING, claim=claim, attempts=F("attempts") + 1, started_at=now, beat_at=now, done=0
        )
        return cls.objects.get(pk=job_id) if taken else None

    def beat(self, done: int | None = None, total: int | None = None, unit: str | None = None) -> None:
        """Say that the work is alive and how far it got.

        Raises LostLease when the job was given to another worker meanwhile.
        """
        change: dict[str, Any] = {"beat_at": timezone.now()}
        change |= {k: v for k, v in (("done", done), ("total", total), ("unit", unit)) if v is not None}
        self._if_mine(**change)
        for name, value in change.items():
            setattr(self, name, value)

    @property
    def is_due(self) -> bool:
        """Whether it is time to say so again: work in many small steps need not write at each."""
        return self.beat_at is None or timezone.now() - self.beat_at >= BEAT

    def end(self, state: State, code: str, message: str) -> None:
        """``QUEUED``: it waits again, and the sweep sends it after a while."""
        now = timezone.now()
        ended = None if state == self.State.QUEUED else now
        self._if_mine(state=state, code=code, message=message, ended_at=ended, sent_at=now, claim=None)
        self.state, self.code, self.message = state, code, message

    def _if_mine(self, **change: Any) -> None:
        mine = Job.objects.filter(pk=self.pk, state=self.State.RUNNING, claim=self.claim)
        if not mine.update(**change):
            raise LostLease(f"job {self.pk}")

    # --- a person's verbs ---

    def acknowledge(self) -> None:
        Job.objects.filter(pk=self.pk, state__in=self.ENDED).update(acknowledged_at=timezone.now())

    # --- the sweep's verbs ---

    @classmethod
    def give_back(cls, now: datetime) -> int:
        """Jobs whose lease stopped beating wait again, or fail when tried too often. Returns how many moved."""
        limit = now - timedelta(seconds=settings.JOB_LEASE_SECONDS)
        silent = cls.objects.filter(state=cls.State.RUNNING, beat_at__lt=limit)
        worn_out = silent.filter(attempts__gte=settings.JOB_MAX_ATTEMPTS).update(
            state=cls.State.FAILED,
            claim=None,
            ended_at=now,
            code="worker-lost",
            message="The worker stopped without a word each time this was tried. Look at the worker's log.",
        )
        moved = 0
        for job_id, kind, subject in silent.values_list("pk", "kind", "subject_id"):
            # The same work may already wait again: then this run is simply over, and nothing has failed.
            twin = cls.objects.filter(kind=kind, subject_id=subject, state=cls.State.QUEUED).exists()
            state = cls.State.DONE if twin else cls.State.QUEUED
            moved += cls.objects.filter(pk=job_id, state=cls.State.RUNNING, beat_at__lt=limit).update(
                state=state, claim=None, code=cls.SUPERSEDED if twin else "", message=cls.INSTEAD if twin else "",
                ended_at=now if twin else None,
            )  # fmt: skip
        return worn_out + moved

    @classmethod
    def waiting_since(cls, limit: datetime) -> list[int]:
        """Queued jobs last sent before ``limit``, oldest first."""
        return list(
            cls.objects.filter(state=cls.State.QUEUED, sent_at__lt=limit).order_by("pk").values_list("pk", flat=True)
        )
