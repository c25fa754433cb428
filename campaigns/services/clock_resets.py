"""A person's answer to where a clock was set anew. Each holds the instrument and raises ValidationError."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from campaigns.models import ClockReset, Instrument
from campaigns.services import removal
from campaigns.services.locks import instruments_held
from campaigns.services.records import check
from methods.clock import Reset
from methods.quantities.durations import MINUTE_MS

BETWEEN = "The last time it showed lies between the two clock checks."


def answer(
    instrument: Instrument,
    reset: Reset,
    *,
    answer: str = "",
    minutes: float | None = None,
    last_shown_ms: int | None = None,
    note: str = "",
) -> ClockReset:
    """Say what happened to the clock at ``reset``, one of the places that the log or the clock checks show.

    Of a step back: ``answer``, one of ``ClockReset.Answer`` (empty: it was set, and clock checks say the rest), and
    by how many ``minutes`` it was put back, negative for forward. Of a jump there is nothing to choose: it was set;
    ``last_shown_ms`` is the last stamp before that, where known, and lies between what the two checks showed.
    """
    row = ClockReset(
        instrument=instrument, kind=reset.kind, before_ms=reset.place[0], after_ms=reset.place[1], note=note
    )
    if reset.kind == "jump":
        if last_shown_ms is not None and not min(reset.place) <= last_shown_ms <= max(reset.place):
            raise ValidationError(BETWEEN)
        row.answer, row.place_ms = ClockReset.Answer.SET, last_shown_ms
    else:
        row.answer = answer or ClockReset.Answer.SET
        if minutes is not None and row.answer != ClockReset.Answer.NOT_SET:
            row.by_ms = round(minutes * MINUTE_MS)
    with instruments_held(ClockReset, instrument.pk):
        check(row)
        row.save(force_insert=True)
    return row


def withdraw(reset: ClockReset) -> None:
    """Take the answer back: the place is asked about again. The history keeps that it was there."""
    with instruments_held(ClockReset, reset.instrument_id):
        removal.remove(reset)
