"""How much background work there is, for whoever watches over it."""

from __future__ import annotations

from django.db.models import Count
from django.db.models.functions import Now

from campaigns.models import Job


def oldest_waiting_s() -> float:
    """For how long the oldest job that might be done now has been waiting, s; 0 where none waits."""
    waiting = Job.ready().order_by("created_at").annotate(now=Now())
    oldest = waiting.values_list("now", "created_at").first()
    return max((oldest[0] - oldest[1]).total_seconds(), 0.0) if oldest else 0.0


def jobs_by_kind() -> list[tuple[str, str, int]]:
    """(kind, state, how many), of all that are kept."""
    counted = Job.objects.order_by().values_list("kind", "state").annotate(jobs=Count("pk"))
    return [(kind, state, jobs) for kind, state, jobs in counted]


def failures_to_look_at() -> list[tuple[str, int]]:
    """(message code, how many) of jobs that failed and that nobody has looked at."""
    failed = Job.objects.filter(state=Job.State.FAILED, acknowledged_at__isnull=True).order_by()
    return [(code, jobs) for code, jobs in failed.values_list("code").annotate(jobs=Count("pk"))]
