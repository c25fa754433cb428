"""Taking steps back, and doing them again: the last one first, and only where nothing else has changed since."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from campaigns.models import Campaign, Deployment, Instrument
from methods.placing import CannotEdit
from readings.models import TimelineStep
from readings.services.timeline.edits import Who
from readings.services.timeline.touching import all_or_nothing, restore, snapshot

SINCE = "Something else has been done on this timeline since you looked. Look again first."
OTHERWISE = (
    "{what} has been changed in another way since then, so this step cannot be {deed}. Nothing was changed: "
    "look at the history of the deployment and mend it by hand."
)


def steps_of(campaign: Campaign, instrument: Instrument) -> QuerySet[TimelineStep]:
    """Latest first."""
    return TimelineStep.objects.filter(campaign=campaign, instrument=instrument).select_related("by", "undone_by")


def latest_done(campaign: Campaign, instrument: Instrument) -> TimelineStep | None:
    """What would be taken back."""
    return steps_of(campaign, instrument).filter(undone_at=None).order_by("-pk").first()


def next_undone(campaign: Campaign, instrument: Instrument) -> TimelineStep | None:
    """What would be done again: the earliest step taken back after which nothing new was done."""
    done = latest_done(campaign, instrument)
    steps = steps_of(campaign, instrument).exclude(undone_at=None).order_by("pk")
    return (steps.filter(pk__gt=done.pk) if done else steps).first()


def undo(who: Who, step: TimelineStep) -> TimelineStep:
    """Take back ``step``, which is the last one done. Raises :class:`CannotEdit`; then nothing has changed."""
    with all_or_nothing(who.instrument):
        if step != latest_done(who.campaign, who.instrument):
            raise CannotEdit(SINCE)
        _unchanged(step.changes, "after", "taken back")
        restore(step.changes, "before")
        step.undone_at, step.undone_by = timezone.now(), who.person
        step.save(update_fields=["undone_at", "undone_by"])
    return step


def redo(who: Who, step: TimelineStep) -> TimelineStep:
    """Do ``step`` again, which was taken back last. Raises :class:`CannotEdit`; then nothing has changed."""
    with all_or_nothing(who.instrument):
        if step != next_undone(who.campaign, who.instrument):
            raise CannotEdit(SINCE)
        _unchanged(step.changes, "before", "done again")
        restore(step.changes, "after")
        step.undone_at = step.undone_by = None
        step.save(update_fields=["undone_at", "undone_by"])
    return step


def _unchanged(changes: Iterable[dict[str, Any]], side: str, deed: str) -> None:
    """The rows stand as the step left them."""
    asked = list(changes)
    rows = Deployment.objects.select_related("point__room", "instrument").in_bulk([change["id"] for change in asked])
    for change in asked:
        row = rows.get(change["id"])
        if snapshot(row) != change[side]:
            what = f"“{row}”" if row else "A deployment of this step"
            raise CannotEdit(OTHERWISE.format(what=what, deed=deed))
