"""What people do on the timeline. Each is one step: whole or not at all, in the history, and can be taken back.

All raise :class:`methods.placing.CannotEdit` with a message for people; then nothing has changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, User
from methods import placing
from methods.placing import CannotEdit, Stay
from methods.quantities.moments import local_text
from readings.models import TimelineStep
from readings.services.timeline.touching import Touched, all_or_nothing

Kind = TimelineStep.Kind
Visit = tuple[SamplingPoint, datetime, datetime | None]

CHANGED = "This deployment has been changed since you looked at it. Look again before you change it."


@dataclass(frozen=True)
class Who:
    """The timeline that is worked on, and by whom."""

    campaign: Campaign
    instrument: Instrument
    person: User

    def text(self, at: datetime | None) -> str:
        return local_text(at, self.campaign.site.zone_info) if at else "still there"

    def span(self, starts_at: datetime, ends_at: datetime | None) -> str:
        return f"{self.text(starts_at)} to {self.text(ends_at)}"

    def fresh(self, row: Deployment, seen: tuple[datetime, datetime | None] | None = None) -> Deployment:
        """The row as it stands now, under the lock of the step. ``seen``: start and end the person was shown."""
        now = self.rows().filter(pk=row.pk).first()
        if now is None or (seen is not None and seen != (now.starts_at, now.ends_at)):
            raise CannotEdit(CHANGED)
        return now

    def rows(self) -> QuerySet[Deployment]:
        own = Deployment.objects.filter(campaign=self.campaign, instrument=self.instrument)
        return own.select_related("campaign__site", "instrument", "point__room")

    def others(self, *rows: Deployment) -> list[Stay]:
        """Where else the instrument stood, in any campaign."""
        rest = Deployment.objects.filter(instrument=self.instrument).exclude(pk__in=[row.pk for row in rows])
        return [stay_of(row) for row in rest]

    def note(self, kind: Kind, said: str, touched: Touched) -> TimelineStep:
        return TimelineStep.objects.create(
            campaign=self.campaign,
            instrument=self.instrument,
            by=self.person,
            kind=kind,
            said=said,
            changes=touched.changes,
        )


def stay_of(row: Deployment) -> Stay:
    return Stay(row.point_id, row.starts_at, row.ends_at)


def move(
    who: Who,
    row: Deployment,
    starts_at: datetime,
    ends_at: datetime | None,
    seen: tuple[datetime, datetime | None] | None = None,
) -> TimelineStep | None:
    """Set the edges of a deployment. None when they are there already."""
    with all_or_nothing(who.instrument):
        row, touched = who.fresh(row, seen), Touched()
        before = (row.starts_at, row.ends_at)
        if before == (starts_at, ends_at):
            return None
        placing.moved(stay_of(row), starts_at, ends_at)
        touched.change(row, starts_at=starts_at, ends_at=ends_at)
        return who.note(Kind.MOVE, f"{row.point}: {who.span(*before)} is now {who.span(starts_at, ends_at)}.", touched)


def split(who: Who, row: Deployment, at: datetime, point: SamplingPoint | None = None) -> TimelineStep:
    """Two deployments that meet at ``at``; the first keeps its id, the second goes to ``point`` or stays there."""
    with all_or_nothing(who.instrument):
        row, touched = who.fresh(row), Touched()
        there = point or row.point
        first, second = placing.split(stay_of(row), at, there.pk)
        touched.change(row, ends_at=first.ends_at)
        notes = row.notes if there == row.point else ""
        touched.add(_new(who, there, second.starts_at, second.ends_at, notes))
        return who.note(Kind.SPLIT, f"{row.point} split at {who.text(at)}; from then on at {there}.", touched)


def merge(who: Who, first: Deployment, second: Deployment) -> TimelineStep:
    """One deployment of two that follow each other at one point. The earlier one stays, with the notes of both."""
    with all_or_nothing(who.instrument):
        first, second = sorted((who.fresh(first), who.fresh(second)), key=lambda row: row.starts_at)
        touched, end = Touched(), second.ends_at
        joined = placing.merged(stay_of(first), stay_of(second), who.others(first, second))
        said = (
            f"{first.point}: {who.span(first.starts_at, first.ends_at)} and {who.span(second.starts_at, end)} merged."
        )
        notes = first.notes if second.notes in ("", first.notes) else f"{first.notes}\n{second.notes}".strip()
        touched.remove(second)
        touched.change(first, ends_at=joined.ends_at, notes=notes)
        return who.note(Kind.MERGE, said, touched)


def create(who: Who, visit: Visit) -> TimelineStep:
    """A deployment where there was none."""
    return _created(who, [visit], Kind.CREATE, "{visits} created.")


def accept(who: Who, visits: Iterable[Visit]) -> TimelineStep:
    """Deployments as they were proposed, all of them or none, in one step."""
    return _created(who, list(visits), Kind.ACCEPT, "Proposed and accepted: {visits}.")


def remove(who: Who, row: Deployment) -> TimelineStep:
    with all_or_nothing(who.instrument):
        row, touched = who.fresh(row), Touched()
        said = f"{row.point}, {who.span(row.starts_at, row.ends_at)} removed."
        touched.remove(row)
        return who.note(Kind.REMOVE, said, touched)


def _created(who: Who, visits: list[Visit], kind: Kind, words: str) -> TimelineStep:
    if not visits:
        raise CannotEdit("Nothing was chosen.")
    with all_or_nothing(who.instrument):
        touched = Touched()
        for point, starts_at, ends_at in visits:
            placing.moved(Stay(point.pk, starts_at, ends_at), starts_at, ends_at)
            touched.add(_new(who, point, starts_at, ends_at))
        named = "; ".join(f"{point}, {who.span(start, end)}" for point, start, end in visits)
        return who.note(kind, words.format(visits=named), touched)


def _new(who: Who, point: SamplingPoint, starts_at: datetime, ends_at: datetime | None, notes: str = "") -> Deployment:
    return Deployment(
        campaign=who.campaign,
        instrument=who.instrument,
        point=point,
        starts_at=starts_at,
        ends_at=ends_at,
        notes=notes,
    )
