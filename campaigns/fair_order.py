"""Whose turn it is: a worker that is free works for the organisation that is being served least.

A message names a job, but stands for one turn: what is done in it is decided when a worker is there. Files of one house
that take minutes each therefore hold up the files of another one for one of them, and not for all.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import datetime, timedelta

from django.db.models import Min, Q
from django.db.models.functions import Now

from campaigns.models import Job

#: How far back it counts how long a worker worked for whom.
REMEMBERED = timedelta(minutes=15)
#: Other workers may take what was chosen here.
TRIES = 5


def next_for(job_id: int) -> Job | None:
    """The job to do in the turn that came with ``job_id``, claimed; None when nothing is there to be done."""
    for _ in range(TRIES):
        first_of = dict(Job.ready().order_by().values_list("organisation_id").annotate(Min("pk")))
        if not first_of:
            return None
        turn = _least_served(first_of) if len(first_of) > 1 else next(iter(first_of))
        named = Job.ready().filter(pk=job_id, organisation_id=turn).exists()
        if (job := Job.take(job_id if named else first_of[turn])) is not None:
            return job
    return None


def _least_served(first_of: dict[int, int]) -> int:
    """Of organisations that wait, with their oldest jobs: the one with the fewest running jobs; then the one that was
    worked for least lately; then the one that waits longest."""
    running: dict[int, int] = defaultdict(int)
    served: dict[int, float] = defaultdict(float)
    lately = Job.objects.filter(
        Q(state=Job.State.RUNNING) | Q(ended_at__gt=Now() - REMEMBERED),
        organisation__in=first_of, started_at__isnull=False,
    ).annotate(now=Now())  # fmt: skip
    for organisation, state, start, end, now in lately.order_by().values_list(
        "organisation_id", "state", "started_at", "ended_at", "now"
    ):
        is_running = state == Job.State.RUNNING
        running[organisation] += is_running
        served[organisation] += _seconds(start, now if is_running else end, now)
    return min(first_of, key=lambda it: (running[it], round(served[it], 1), first_of[it]))


def _seconds(start: datetime | None, end: datetime | None, now: datetime) -> float:
    """The part of it that counts."""
    assert start is not None
    return max(((end or now) - max(start, now - REMEMBERED)).total_seconds(), 0.0)
