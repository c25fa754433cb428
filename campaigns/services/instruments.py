"""Making and changing instruments. Their channels come with their type, so the type stays (``Instrument.save``)."""

from __future__ import annotations

from typing import TypedDict, Unpack

from campaigns.models import Instrument, InstrumentType, Organisation
from campaigns.services.locks import instruments_held
from campaigns.services.records import save_changed, save_new


class InstrumentChanges(TypedDict, total=False):
    """What can be changed; what is left out stays. Not the type: its channels, and what was read from them, are its."""

    name: str
    serial: str
    clock_basis: str
    clock_offset_min: int


def make(
    organisation: Organisation,
    *,
    type: InstrumentType,
    name: str,
    serial: str,
    clock_basis: str = Instrument.ClockBasis.SITE,
    clock_offset_min: int = 0,
) -> Instrument:
    """An instrument with the channels of its type. ``clock_offset_min``: minutes ahead of UTC, of a fixed clock.

    Raises ValidationError.
    """
    row = Instrument(
        organisation=organisation,
        type=type,
        name=name,
        serial=serial,
        clock_basis=clock_basis,
        clock_offset_min=clock_offset_min,
    )
    return save_new(row)


def change(instrument: Instrument, **changes: Unpack[InstrumentChanges]) -> Instrument:
    """Set what is given. Holds the instrument: on its clock rests where its readings lie. Raises ValidationError."""
    with instruments_held(Instrument, instrument.pk):
        return save_changed(instrument, **changes)
