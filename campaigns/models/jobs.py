"""The job row: the truth about every piece of background work.

A broker only carries ids. It may lose one, or deliver it twice: a job is claimed by a conditional UPDATE, so a second
delivery finds nothing to claim, and the sweep sends again whatever the database says is waiting.

Every moment that decides something is the database's: the clocks of the hosts that work may differ.
"""

from __future__ import annotations

import time
import uuid
from datetime import timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, models, transaction
from django.db.models import F, Q, QuerySet
from django.db.models.functions import Now
from django.utils import timezone

from campaigns.models.base import Record
from campaigns.models.people import Organisation, User

#: How often work in small steps says that it is alive.
BEAT_S = 1.0
#: What was tried in vain is tried again after so many times the wait before; a wait is never longer than this.
LONGER, LONGEST_WAIT_S = 3, 600
WORN_OUT = "The worker stopped without a word each time this was tried. Look at the worker's log."
OVERTAKEN = "The same was asked for again meanwhile, from newer inputs."


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
        SUPERSEDED = "superseded", "overtaken by a newer run"

    ENDED = (State.DONE, State.ATTENTION, State.FAILED, State.SUPERSEDED)
    #: How it ended is somebody's business until it is acknowledged, or the same work is asked for again.
    TO_LOOK_AT = (State.ATTENTION, State.FAILED)
    #: Codes of failures of ours, and not of what the work was about: it may be asked for again just as it was.
    NOT_DONE = ("internal-error", "worker-lost", "given-up", "original-missing")

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
    due_at = models.DateTimeField(null=True, help_text="Not to be tried before; empty: at once.")
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

    @property
    def may_be_asked_again(self) -> bool:
        """Whether it ended without having been done, for a reason that has nothing to do with its subject."""
        return self.state == self.State.FAILED and self.code in self.NOT_DONE

    # --- the worker's verbs ---

    @classmethod
    def ready(cls) -> QuerySet[Job]:
        """Jobs that may be claimed now."""
        return cls.objects.filter(Q(due_at__isnull=True) | Q(due_at__lte=Now()), state=cls.State.QUEUED)

    @classmethod
    def take(cls, job_id: int) -> Job | None:
        """Claim a queued job. None if it is not there to take: already claimed, ended, or not to be tried yet."""
        taken = cls.ready().filter(pk=job_id).update(
            state=cls.State.RUNNING, claim=uuid.uuid4(), attempts=F("attempts") + 1, started_at=Now(), beat_at=Now(),
            done=0, code="", message="",
        )  # fmt: skip
        if not taken:
            return None
        job = cls.objects.get(pk=job_id)
        job._beaten = time.monotonic()
        return job

    _beaten: float = float("-inf")

    def beat(self, done: int | None = None, total: int | None = None, unit: str | None = None) -> None:
        """Say that the work is alive and how far it got.

        Raises LostLease when the job was given to another worker meanwhile.
        """
        change: dict[str, Any] = {k: v for k, v in (("done", done), ("total", total), ("unit", unit)) if v is not None}
        self._if_mine(beat_at=Now(), **change)
        self._beaten = time.monotonic()
        for name, value in change.items():
            setattr(self, name, value)

    @property
    def is_due(self) -> bool:
        """Whether it is time to say so again: work in many small steps need not write at each."""
        return time.monotonic() - self._beaten >= BEAT_S

    def beat_if_due(self) -> None:
        """For whoever waits in small steps. Raises LostLease."""
        if self.is_due:
            self.beat()

    def end(self, state: State, code: str, message: str) -> None:
        """``QUEUED``: it waits again, and the sweep sends it after a while."""
        ended = None if state == self.State.QUEUED else Now()
        self._if_mine(state=state, code=code, message=message, ended_at=ended, sent_at=Now(), claim=None)
        self.state, self.code, self.message = state, code, message

    def try_again(self, why: str) -> None:
        """Wait, each time longer, and be claimed again; after the last attempt it is given up. ``why``: a sentence.

        Raises LostLease.
        """
        if self.attempts >= settings.JOB_MAX_ATTEMPTS:
            tried = f"It was tried {self.attempts} times and given up." if self.attempts > 1 else "It was given up."
            self.end(self.State.FAILED, "given-up", f"{why} {tried}")
            return
        wait = min(settings.JOB_RETRY_SECONDS * LONGER ** (self.attempts - 1), LONGEST_WAIT_S)
        message = f"{why} It is tried again."
        try:
            with transaction.atomic():
                self._if_mine(
                    state=self.State.QUEUED, claim=None, code="tried-again", message=message,
                    due_at=Now() + timedelta(seconds=wait), sent_at=Now(),
                )  # fmt: skip
        except IntegrityError:  # the same work waits already
            self.end(self.State.SUPERSEDED, "superseded", OVERTAKEN)

    def _if_mine(self, **change: Any) -> None:
        mine = Job.objects.filter(pk=self.pk, state=self.State.RUNNING, claim=self.claim)
        if not mine.update(**change):
            raise LostLease(f"job {self.pk}")

    # --- a person's verbs ---

    def acknowledge(self) -> None:
        Job.objects.filter(pk=self.pk, state__in=self.ENDED).update(acknowledged_at=timezone.now())

    # --- the sweep's verbs ---

    @classmethod
    def give_back(cls) -> int:
        """Jobs whose lease stopped beating wait again, or fail when tried too often. Returns how many moved."""
        silent = cls.objects.filter(
            state=cls.State.RUNNING, beat_at__lt=Now() - timedelta(seconds=settings.JOB_LEASE_SECONDS)
        )
        moved = silent.filter(attempts__gte=settings.JOB_MAX_ATTEMPTS).update(
            state=cls.State.FAILED, claim=None, ended_at=Now(), code="worker-lost", message=WORN_OUT
        )
        for job_id in list(silent.values_list("pk", flat=True)):
            one = silent.filter(pk=job_id)
            try:
                with transaction.atomic():
                    moved += one.update(state=cls.State.QUEUED, claim=None, code="", due_at=None)
            except IntegrityError:  # the same work waits already: then this run is simply over
                moved += one.update(
                    state=cls.State.SUPERSEDED, claim=None, code="superseded", message=OVERTAKEN, ended_at=Now()
                )
        return moved

    @classmethod
    def to_send(cls) -> list[int]:
        """Jobs that may be claimed, and of which no worker has heard lately or since they are due; oldest first."""
        long_ago = Now() - timedelta(seconds=settings.JOB_RESEND_SECONDS)
        unheard = cls.ready().filter(Q(sent_at__lt=long_ago) | Q(sent_at__lt=F("due_at")))
        return list(unheard.order_by("pk").values_list("pk", flat=True))
