"""The deployments of a campaign as plain rows: one page names hundreds, and models would cost more than all else."""

from __future__ import annotations

from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from campaigns.models import Campaign


class Visit(NamedTuple):
    """One deployment: where and by what, with names and keys. ``room`` and ``zone_key`` are None outdoors."""

    pk: int
    key: UUID
    starts_at: datetime
    ends_at: datetime | None
    instrument_id: int
    instrument: str
    instrument_key: UUID
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


FIELDS = (
    *("pk", "key", "starts_at", "ends_at", "instrument_id", "instrument__name", "instrument__key"),
    *("point_id", "point__name", "point__room__name", "point__room__zone__key"),
)


def visits_of(campaign: Campaign) -> list[Visit]:
    """In order of instruments, then of time. One query."""
    rows = campaign.deployments.order_by("instrument__name", "starts_at", "pk").values_list(*FIELDS)
    return [Visit(*row) for row in rows]
