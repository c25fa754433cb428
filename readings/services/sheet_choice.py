"""Which sheet of a workbook is read, where more than one looks like a log."""

from __future__ import annotations

from django.core.exceptions import ValidationError

from campaigns.models import User
from campaigns.services.records import all_or_nothing
from readings.models import Upload
from readings.queries import anything_from
from readings.services.reading_anew import read_sheet_of
from readings.services.receive import ask_to_read, is_running
from readings.services.understanding import RUNNING, recall
from readings.services.withdrawing import WITHDRAWN, held

NO_SHEET = "Choose one of the sheets that look like logs."
STORED = "Readings of another sheet are stored: a consultant can have the file read another way, from its page."
SAME = "It is this sheet that is read already: choose another one."


def sheets_of(upload: Upload) -> tuple[tuple[str, str], ...]:
    """(title, words) of the sheets among which there is a choice."""
    understood = recall(upload)
    return understood.sheets if understood is not None else ()


def choose_sheet(upload: Upload, sheet: str, by: User) -> None:
    """Say which sheet is the log, and have the file read. Raises ValidationError; then nothing has changed."""
    with all_or_nothing(Upload):
        row = held(upload)
        _require(row, sheet)
        if row.withdrawn:
            raise ValidationError(WITHDRAWN)
        if is_running(row):
            raise ValidationError(RUNNING)
        if anything_from(row):
            raise ValidationError(STORED)
        row.sheet, row.settled = sheet, None
        row.save(update_fields=["sheet", "settled"])
        ask_to_read(row, by)


def read_sheet(upload: Upload, sheet: str, reason: str, by: User) -> Upload:
    """Read another sheet of a file of which readings are stored: they are set aside, and it is read in anew.

    Raises ValidationError; then nothing has changed.
    """
    with all_or_nothing(Upload):
        row = held(upload)
        _require(row, sheet)
        if sheet == (row.layout or {}).get("sheet"):
            raise ValidationError(SAME)
        return read_sheet_of(row, sheet, reason, by)


def _require(row: Upload, sheet: str) -> None:
    if sheet not in dict(sheets_of(row)):
        raise ValidationError(NO_SHEET)
