"""Saying where an instrument stood: the one way in for forms, timeline, API and field pages.

Each holds the instruments it is about (``locks.instruments_held``), works on the deployment as it stands then, and
raises ValidationError with the model's messages; then nothing has changed. Several can be one whole::

    with instruments_held(Deployment, instrument.pk):
        change(first, ends_at=noon)
        make(campaign, instrument=instrument, point=point, starts_at=noon)
"""

from __future__ import annotations

from datetime import datetime
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint
from campaigns.services import removal
from campaigns.services.locks import instruments_held
from campaigns.services.records import check, current

MOVED = "This deployment has been given to another instrument meanwhile. Look again before you change it."


class DeploymentChanges(TypedDict, total=False):
    """What can be changed; what is left out stays. Times are moments with a zone; ``ends_at`` None: still there."""

    point: SamplingPoint
    instrument: Instrument
    starts_at: datetime
    ends_at: datetime | None
    switched_on_at: datetime | None
    notes: str


def make(
    campaign: Campaign,
    *,
    instrument: Instrument,
    point: SamplingPoint,
    starts_at: datetime,
    ends_at: datetime | None = None,
    switched_on_at: datetime | None = None,
    notes: str = "",
) -> Deployment:
    """Put ``instrument`` at ``point`` from ``starts_at`` to ``ends_at`` (None: it is still there)."""
    row = Deployment(
        campaign=campaign,
        instrument=instrument,
        point=point,
        starts_at=starts_at,
        ends_at=ends_at,
        switched_on_at=switched_on_at,
        notes=notes,
    )
    return put(row)


def put(row: Deployment) -> Deployment:
    """Save a deployment that is not there, with the id and key it has: one that was removed goes on in its history."""
    with instruments_held(Deployment, row.instrument_id):
        check(row)
        row.save(force_insert=True)
    return row


def change(deployment: Deployment, **changes: Unpack[DeploymentChanges]) -> Deployment:
    """Set what is given. Returns the deployment as it is then."""
    stands = _stands_with(deployment)
    wanted = {changes["instrument"].pk} if "instrument" in changes else set()
    with instruments_held(Deployment, *stands, *wanted):
        row = current(deployment)
        if row.instrument_id not in stands:
            raise ValidationError(MOVED)
        for name, value in changes.items():
            setattr(row, name, value)
        return keep(row)


def keep(row: Deployment) -> Deployment:
    """Save a deployment as it was set. It was read while its instruments were held, and they still are."""
    with instruments_held(Deployment, row.instrument_id):
        check(row)
        row.save(force_update=True)
    return row


def remove(deployment: Deployment) -> None:
    """Take it away, with what goes with it. Raises ``removal.Blocked`` where something must stay."""
    with instruments_held(Deployment, *_stands_with(deployment)):
        removal.remove(deployment)


def _stands_with(deployment: Deployment) -> set[int]:
    """Id of the instrument in the database, which may be another by now; empty when the deployment is gone."""
    return set(Deployment.objects.filter(pk=deployment.pk).values_list("instrument_id", flat=True))
