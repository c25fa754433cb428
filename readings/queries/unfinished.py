"""Logs that were not read to their end, or not set aside to their end, for a reason that is none of theirs."""

from __future__ import annotations

from typing import NamedTuple
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from campaigns.models import Campaign, Job
from readings.job_kinds import READ_UPLOAD, SET_ASIDE
from readings.models import Upload


class Unfinished(NamedTuple):
    filename: str
    key: UUID
    state: str

    @property
    def withdrawn(self) -> bool:
        """Its readings are being set aside: its page has nothing to ask for."""
        return self.state == Upload.State.WITHDRAWN


def unfinished(campaign: Campaign) -> list[Unfinished]:
    """By name. What was asked for again since is under way, and none of them. One query."""
    newer = Job.objects.filter(kind=OuterRef("kind"), subject_id=OuterRef("subject_id"), pk__gt=OuterRef("pk"))
    failed = Job.objects.filter(~Exists(newer), state=Job.State.FAILED, code__in=Job.NOT_DONE)
    unread = Q(pk__in=failed.filter(kind=READ_UPLOAD).values("subject_id")) & ~Q(state=Upload.State.WITHDRAWN)
    unmoved = Q(pk__in=failed.filter(kind=SET_ASIDE).values("subject_id"))
    logs = campaign.uploads.filter(unread | unmoved).order_by("filename", "pk")
    return [Unfinished(*row) for row in logs.values_list("filename", "key", "state")]
