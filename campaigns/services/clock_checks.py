"""What an instrument's clock showed at a true time. Each holds the instrument and raises ValidationError."""

from __future__ import annotations

from datetime import datetime
from typing import TypedDict, Unpack

from campaigns.models import ClockCheck, Instrument
from campaigns.services import removal
from campaigns.services.locks import instruments_held
from campaigns.services.records import check as in_order
from campaigns.services.records import current

#: What bursts gave is what bursts gave only as long as none of these is changed.
READ_OFF = ("at", "shown_ms", "to_minute")


class ClockCheckChanges(TypedDict, total=False):
    """What can be changed; what is left out stays. ``at``: a moment with a zone; ``shown_ms``: a stamp."""

    at: datetime
    shown_ms: int
    to_minute: bool
    note: str


def make(
    instrument: Instrument,
    *,
    at: datetime,
    shown_ms: int,
    to_minute: bool = False,
    origin: str = ClockCheck.Origin.SEEN,
    note: str = "",
) -> ClockCheck:
    """The clock showed ``shown_ms`` (a stamp, milliseconds) when it was truly ``at``.

    ``to_minute``: its display has no seconds, so the stamp is a whole minute.
    """
    row = ClockCheck(instrument=instrument, at=at, shown_ms=shown_ms, to_minute=to_minute, origin=origin, note=note)
    with instruments_held(ClockCheck, instrument.pk):
        in_order(row)
        row.save(force_insert=True)
    return row


def change(clock_check: ClockCheck, **changes: Unpack[ClockCheckChanges]) -> ClockCheck:
    """Set what is given. What a person changes was read off the instrument, and is no longer what bursts gave."""
    with instruments_held(ClockCheck, clock_check.instrument_id):
        row = current(clock_check)
        before = [getattr(row, name) for name in READ_OFF]
        for name, value in changes.items():
            setattr(row, name, value)
        if before != [getattr(row, name) for name in READ_OFF]:
            row.origin = ClockCheck.Origin.SEEN
        in_order(row)
        row.save(force_update=True)
    return row


def remove(clock_check: ClockCheck) -> None:
    with instruments_held(ClockCheck, clock_check.instrument_id):
        removal.remove(clock_check)
