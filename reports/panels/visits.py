"""The deployments of a campaign as plain rows: one page names hundreds, and models would cost more than all else."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from campaigns.models import Campaign, Record


class Visit(NamedTuple):
    """One deployment: its ids and the names of where and by what. ``room`` and ``zone_id`` are None outdoors."""

    pk: int
    starts_at: datetime
    ends_at: datetime | None
    instrument_id: int
    instrument: str
    point_id: int
    point: str
    room: str | None
    zone_id: int | None

    @property
    def place(self) -> str:
        """As the point calls itself."""
        return self.point if self.room is None else f"{self.room}, {self.point}"

    def __str__(self) -> str:
        return f"{self.instrument} at {self.place}"


FIELDS = (
    *("pk", "starts_at", "ends_at", "instrument_id", "instrument__name"),
    *("point_id", "point__name", "point__room__name", "point__room__zone_id"),
)


def visits_of(campaign: Campaign) -> list[Visit]:
    """In order of instruments, then of time. One query."""
    rows = campaign.deployments.order_by("instrument__name", "starts_at", "pk").values_list(*FIELDS)
    return [Visit(*row) for row in rows]


def keys_of(model: type[Record], ids: Iterable[int | None]) -> dict[int, UUID]:
    """Keys by id: a zone or an instrument has one, its hundred visits need not carry it."""
    return dict(model._default_manager.filter(pk__in=set(ids)).values_list("pk", "key"))
