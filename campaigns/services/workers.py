"""Whether anybody is there to do what was asked for. Every moment is the database's: clocks of hosts may differ."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta

from django.db.models.functions import Now

from campaigns.models import Job, Worker

#: How often a worker says that it is there, s.
BEAT_S = 10.0
#: One that has been silent for so long is taken for gone, s: longer than a beat may have to wait for SQLite's lock.
SILENT_S = 45
#: Rows of workers that ended without a word are kept for a look at what happened, and no longer.
KEPT = timedelta(days=1)
#: ``beat`` and ``leave``.
Saying = Callable[[str], None]
NO_WORKER = "No worker is running. This goes on when the operator starts one."


def beat(name: str) -> None:
    """The worker ``name`` is there. One statement, so that nobody waits for it."""
    if not Worker.objects.filter(name=name).update(beat_at=Now()):
        Worker.objects.create(name=name, beat_at=Now())


def leave(name: str) -> None:
    """The worker ends, and says so; what others left behind long ago goes, too."""
    Worker.objects.filter(name=name).delete()
    Worker.objects.filter(beat_at__lt=Now() - KEPT).delete()


def beating() -> int:
    """How many workers are there."""
    return Worker.objects.filter(beat_at__gt=Now() - timedelta(seconds=SILENT_S)).count()


def silence_s() -> float | None:
    """Seconds since any worker was last heard; None where there never was one."""
    last = Worker.objects.order_by("-beat_at").annotate(now=Now()).values_list("now", "beat_at").first()
    return max((last[0] - last[1]).total_seconds(), 0.0) if last else None


def note_unattended(jobs: Iterable[Job]) -> None:
    """Mark those of ``jobs`` that wait or run while nobody is there to do them. One query, and none where all have
    ended."""
    moving = [job for job in jobs if not job.ended]
    if moving and not beating():
        for job in moving:
            job.unattended = True
