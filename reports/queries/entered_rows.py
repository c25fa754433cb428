"""What was entered for a campaign as plain rows: one page names hundreds, and models would cost more than all else."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property
from typing import NamedTuple
from uuid import UUID

from django.db.models import Exists, OuterRef

from campaigns.models import Agreement, Campaign
from readings.models import Upload
from reports.models import Result


class EnteredVisit(NamedTuple):
    """One deployment: ids, keys and names of where and by what. ``room`` and ``zone_key`` are None outdoors."""

    pk: int
    starts_at: datetime
    ends_at: datetime | None
    instrument_id: int
    instrument_key: UUID
    instrument: str
    point_id: int
    point: str
    room: str | None
    zone_key: UUID | None

    @property
    def place(self) -> str:
        """As the point calls itself."""
        return self.point if self.room is None else f"{self.room}, {self.point}"

    def __str__(self) -> str:
        return f"{self.instrument} at {self.place}"


class Planned(NamedTuple):
    """A point that the campaign means to measure; ``room`` is None outdoors. ``sampled``: a result is there that no
    deployment gave."""

    point_id: int
    point: str
    room: str | None
    sampled: bool

    @property
    def place(self) -> str:
        return self.point if self.room is None else f"{self.room}, {self.point}"


class Log(NamedTuple):
    """An uploaded file."""

    key: UUID
    filename: str
    state: str
    instrument_id: int | None
    created_at: datetime


VISIT = (
    *("pk", "starts_at", "ends_at", "instrument_id", "instrument__key", "instrument__name"),
    *("point_id", "point__name", "point__room__name", "point__room__zone__key"),
)
PLANNED = ("point_id", "point__name", "point__room__name", "sampled")


@dataclass
class Entered:
    """One query for each kind, when it is first asked for."""

    campaign: Campaign

    @cached_property
    def visits(self) -> list[EnteredVisit]:
        """In order of instruments, then of time."""
        rows = self.campaign.deployments.order_by("instrument__name", "starts_at", "pk").values_list(*VISIT)
        return [EnteredVisit(*row) for row in rows]

    @cached_property
    def agreements(self) -> list[Agreement]:
        """What is agreed with the client, the latest version first; without the contents."""
        return list(self.campaign.agreements.select_related("answered_by").defer("content").order_by("-version"))

    @cached_property
    def planned(self) -> list[Planned]:
        samples = Result.objects.filter(criterion__campaign=self.campaign, deployment__isnull=True)
        there = Exists(samples.filter(point=OuterRef("point")).order_by())
        return [Planned(*row) for row in self.campaign.planned_points.annotate(sampled=there).values_list(*PLANNED)]

    @cached_property
    def logs(self) -> list[Log]:
        """In the order in which they came, without those that were withdrawn."""
        counting = self.campaign.uploads.exclude(state=Upload.State.WITHDRAWN)
        return [Log(*row) for row in counting.order_by("created_at", "pk").values_list(*Log._fields)]
