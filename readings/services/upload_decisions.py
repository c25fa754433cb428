"""What a person decides about one log. Each holds the upload, as the worker that takes it up does."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from campaigns.models import Instrument, User
from campaigns.services.records import all_or_nothing
from readings.models import Upload
from readings.queries import anything_from, placement_of
from readings.services import file_doubts
from readings.services.clock_review import ask_again
from readings.services.receive import NOT_OURS, as_of, ask_to_read, is_running
from readings.services.withdrawing import held

RUNNING = "It is being read at this moment: decide when that has ended."
STORED = (
    "Readings of this file are stored under another instrument already; they cannot be moved. "
    "A consultant can have it read another way, from its page."
)
WITHDRAWN = "It is withdrawn: have it read in again first."
NO_DOUBT = "Nothing speaks against this file: there is nothing to say."
DEPLOYED = (
    "Readings of this file fall into a deployment now and count there. If they should not, move or end the deployment "
    "on the timeline, or withdraw the file."
)
HERE = "This file is here already, as one of that instrument."


def choose_instrument(upload: Upload, instrument: Instrument | None, by: User) -> None:
    """Say which instrument stored the file (None: as it is), and have it read again. Raises ValidationError."""
    with all_or_nothing(Upload):
        row = _held(upload)
        if instrument is not None and instrument.organisation_id != row.campaign.site.organisation_id:
            raise ValidationError(NOT_OURS)
        if is_running(row):
            raise ValidationError(RUNNING)
        if instrument not in (None, row.instrument) and anything_from(row):
            raise ValidationError(STORED)
        if instrument is not None and as_of(row, instrument) is not None:
            raise ValidationError(HERE)
        if instrument is not None:
            row.instrument = instrument
            row.save(update_fields=["instrument"])
        ask_to_read(row, by)


def leave_outside(upload: Upload) -> None:
    """Leave its readings outside every deployment: an office test, say. Not asked again.

    Raises ValidationError where any of them falls into one.
    """
    with all_or_nothing(Upload):
        row = _held(upload)
        if placement_of(row).shares:
            raise ValidationError(DEPLOYED)
        row.outside = Upload.Outside.LEFT
        row.save(update_fields=["outside"])
        if row.instrument is not None:
            ask_again(row.instrument)


def accept(upload: Upload, by: User) -> None:
    """Say that the file is right although something speaks against it, and have it read to its end.

    Raises ValidationError where nothing does.
    """
    with all_or_nothing(Upload):
        row = _held(upload)
        codes = set(row.problems.filter(code__in=file_doubts.CODES).values_list("code", flat=True))
        if not codes - set(row.accepted):
            raise ValidationError(NO_DOUBT)
        row.accepted = sorted(codes.union(row.accepted))
        row.save(update_fields=["accepted"])
        ask_to_read(row, by)


def say_twin(upload: Upload, twin: str, by: User) -> None:
    """Say whether it is the memory of another file again (one of ``Upload.Twin``), and have it read again.

    Raises ValidationError.
    """
    if twin not in Upload.Twin.values:
        raise ValidationError({"twin": "Say whether it is the same memory or another one."})
    with all_or_nothing(Upload):
        row = _held(upload)
        row.twin = twin
        row.save(update_fields=["twin"])
        ask_to_read(row, by)


def _held(upload: Upload) -> Upload:
    row = held(upload)
    if row.withdrawn:
        raise ValidationError(WITHDRAWN)
    return row
