"""Deployments before and after: what a step keeps, and putting rows back as they were."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from typing import Any

from django.core.exceptions import ValidationError

from campaigns.models import Deployment, Instrument
from campaigns.services import deployments
from campaigns.services.locks import instruments_held
from campaigns.services.removal import Blocked
from methods.placing import CannotEdit

Snapshot = dict[str, Any]

LINKS = ("campaign_id", "instrument_id", "point_id")
TIMES = ("starts_at", "ends_at", "switched_on_at")


def snapshot(row: Deployment | None) -> Snapshot | None:
    """The fields of a deployment as JSON, to the microsecond; None for none."""
    if row is None:
        return None
    held: Snapshot = {"key": str(row.key), "notes": row.notes}
    held |= {name: getattr(row, name) for name in LINKS}
    return held | {name: at.astimezone(UTC).isoformat() if (at := getattr(row, name)) else None for name in TIMES}


class Touched:
    """Deployments changed by a step, through which it changes them, with what each was before."""

    def __init__(self) -> None:
        self._before: dict[int, Snapshot | None] = {}
        self._after: dict[int, Snapshot | None] = {}

    @property
    def changes(self) -> list[dict[str, Any]]:
        return [{"id": pk, "before": before, "after": self._after[pk]} for pk, before in self._before.items()]

    def change(self, row: Deployment, **fields: Any) -> None:
        self._before.setdefault(row.pk, snapshot(row))
        for name, value in fields.items():
            setattr(row, name, value)
        deployments.keep(row)
        self._after[row.pk] = snapshot(row)

    def add(self, row: Deployment) -> None:
        deployments.put(row)
        self._before[row.pk], self._after[row.pk] = None, snapshot(row)

    def remove(self, row: Deployment) -> None:
        pk = row.pk
        self._before.setdefault(pk, snapshot(row))
        drop(row)
        self._after[pk] = None


@contextmanager
def all_or_nothing(instrument: Instrument) -> Iterator[None]:
    """One step: one transaction in which nobody else changes where the instrument stood, also through a form.

    Raises :class:`CannotEdit` where the model or the database refuses; then nothing has changed.
    """
    try:
        with instruments_held(Deployment, instrument.pk):
            yield
    except ValidationError as error:
        raise CannotEdit(" ".join(error.messages)) from error


def drop(row: Deployment) -> None:
    try:
        deployments.remove(row)
    except Blocked as blocked:
        raise CannotEdit(f"{row} stays: {blocked}") from blocked


def restore(changes: Iterable[dict[str, Any]], to: str) -> None:
    """Put every deployment of a step to its "before" or "after". What goes, goes first; what comes back, comes last.

    A deployment that comes back has the id and the key it had, so that its history goes on.
    """
    asked = list(changes)
    rows = Deployment.objects.in_bulk([change["id"] for change in asked])
    for change in asked:
        if change[to] is None:
            drop(rows[change["id"]])
    for change in asked:
        if change[to] is not None and change["id"] in rows:
            deployments.keep(_filled(rows[change["id"]], change[to]))
    for change in asked:
        if change[to] is not None and change["id"] not in rows:
            deployments.put(_filled(Deployment(pk=change["id"]), change[to]))


def _filled(row: Deployment, held: Snapshot) -> Deployment:
    for name in ("key", "notes", *LINKS):
        setattr(row, name, held[name])
    for name in TIMES:
        setattr(row, name, datetime.fromisoformat(held[name]) if held[name] else None)
    return row
