"""Who changed what, when, from what to what. Kept by django-auditlog, in the same transaction as the change."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from auditlog.models import LogEntry
from auditlog.registry import auditlog
from django.contrib.contenttypes.models import ContentType
from django.db.models import Model, Q, QuerySet

from campaigns import models as m

KEPT: tuple[type[Model], ...] = (
    m.Organisation,
    m.Membership,
    m.Client,
    m.Site,
    m.Building,
    m.Floor,
    m.Zone,
    m.Room,
    m.SamplingPoint,
    m.InstrumentType,
    m.ChannelSpec,
    m.Instrument,
    m.Calibration,
    m.FieldCheck,
    m.ClockCheck,
    m.ClockReset,
    m.Campaign,
    m.PlannedPoint,
    m.UseTimetable,
    m.AlertLevel,
    m.QualityRun,
    m.RunInstrument,
    m.AcceptanceLimit,
    m.Limit,
    m.LimitCheck,
    m.Criterion,
    m.Deployment,
)
UNTOLD = ["id", "key", "created_at"]
#: What happens to a person's account and is no field of a row.
NOTED = ("name", "password", "password link")


@dataclass(frozen=True)
class Change:
    at: datetime
    who: str
    what: str
    field: str
    before: str
    after: str


def keep(models: Iterable[type[Model]], *, without: Iterable[str] = ()) -> None:
    """Record every change to these models from now on; ``without`` names fields too large to be kept twice."""
    left_out = {*UNTOLD, *without}
    for model in models:
        # Named fields only: otherwise rows that point here would be recorded as changes of this one.
        kept = [field.name for field in model._meta.concrete_fields if field.name not in left_out]
        auditlog.register(model, include_fields=kept)


def register() -> None:
    keep(KEPT)
    keep([m.FloorPlan], without=["version", "updated_at"])
    keep([m.Agreement], without=["content"])  # which the version itself keeps for good
    keep([m.ApiToken], without=["digest", "last_used_at"])


def note(row: Model, what: str, after: str, by: m.User | None = None, *, before: str = "") -> None:
    """Put something into the history of ``row`` that is no field of it; ``what`` is one of ``NOTED``. ``by``: None for
    whoever is asking, as for every change."""
    assert what in NOTED
    LogEntry.objects.log_create(row, action=LogEntry.Action.UPDATE, changes={what: [before, after]}, actor=by)


def of(row: Model, limit: int = 50) -> list[Change]:
    """The row's changes, newest first, one entry per field."""
    entries = LogEntry.objects.get_for_object(row).select_related("actor").order_by("-timestamp", "-id")[:limit]
    return [change for entry in entries for change in _changes(entry)]


def of_organisations(models: Iterable[type[Model]], organisation_ids: Iterable[int]) -> QuerySet[Any]:
    """Entries about rows of these models, gone ones too, newest first. The models say in ``get_additional_data``
    whose they are."""
    kinds = ContentType.objects.get_for_models(*models).values()
    rows: QuerySet[Any] = LogEntry.objects.filter(
        content_type__in=kinds, additional_data__organisation__in=list(organisation_ids)
    )
    return rows.select_related("actor", "content_type").order_by("-timestamp", "-id")


def told(entry: Any) -> list[Change]:
    """What one entry says, one change per field."""
    return list(_changes(entry))


def of_those_under(model: type[Model], field: str, row: Model, limit: int = 100) -> list[Change]:
    """Changes of rows of ``model`` whose foreign key ``field`` led to ``row``, newest first; also of those that are
    gone."""
    led = Q(**{f"changes__{field}__0": str(row.pk)}) | Q(**{f"changes__{field}__1": str(row.pk)})
    entries = LogEntry.objects.get_for_model(model).filter(led).select_related("actor")
    return [change for entry in entries.order_by("-timestamp", "-id")[:limit] for change in _changes(entry)]


def _changes(entry: Any) -> Iterable[Change]:
    who = str(entry.actor) if entry.actor else "Fanlight"
    what = ("created", "changed", "deleted", "looked at")[entry.action]
    for name, (before, after) in (entry.changes_display_dict or {}).items():
        yield Change(entry.timestamp, who, what, name, _plain(before), _plain(after))


def _plain(value: Any) -> str:
    return "–" if value in (None, "None", "") else str(value)
