"""Reading a file another way, although readings of it are stored: they are set aside, and it is read in anew.

The same bytes become another upload, with what a person says of them now; the earlier one is withdrawn in the same
transaction. Its readings are moved before the other one is read, by the same job.
"""

from __future__ import annotations

from dataclasses import replace

from django.core.exceptions import ValidationError

from campaigns.models import Instrument, User
from campaigns.services.records import all_or_nothing
from methods.logs.types import Layout
from readings.models import Upload
from readings.services.receive import NOT_OURS, ask_to_read
from readings.services.understanding import keep_layout
from readings.services.withdrawing import held, mark_withdrawn

#: What the new upload has in common with the one before, unless a person says otherwise.
SAME = ("campaign", "filename", "size", "sha256", "understood", "settled", "sheet", "archive", "member")
SAME_INSTRUMENT = "It is read as a log of this instrument already: choose another one."
SAME_LAYOUT = "It is read like this already: change what was wrong first."
IN_USE = "It counts already: only a file that was withdrawn is read in again."
ALREADY_ANEW = "It was read in again already: look at that one."


def read_as_of(upload: Upload, instrument: Instrument, reason: str, by: User) -> Upload:
    """Read the file as a log of another instrument. Raises ValidationError; then nothing has changed."""
    with all_or_nothing(Upload):
        row = held(upload)
        if instrument.organisation_id != row.campaign.site.organisation_id:
            raise ValidationError(NOT_OURS)
        if instrument == row.instrument:
            raise ValidationError(SAME_INSTRUMENT)
        mark_withdrawn(row, reason, by)
        return read_in(row, by, instrument=instrument)


def read_with(
    upload: Upload, layout: Layout, reason: str, by: User, *, keep_as: str = "", represents: str = ""
) -> tuple[Upload, int]:
    """Read the file with another layout; with ``keep_as``, keep that under this name for files of its shape.

    ``represents``: what the kept layout says a stored value is. Returns the new upload, and how many other files that
    were waiting are read with the layout. Raises ValidationError; then nothing has changed.
    """
    with all_or_nothing(Upload):
        row = held(upload)
        if row.settled and replace(Layout.from_json(row.settled), name="") == replace(layout, name=""):
            raise ValidationError(SAME_LAYOUT)
        mark_withdrawn(row, reason, by)
        named = replace(layout, name=keep_as) if keep_as else layout
        new = read_in(row, by, instrument=row.instrument, settled=named.to_json(), twin=row.twin)
        others = keep_layout(new, layout, by, keep_as, represents)[1] if keep_as else 0
        return new, others


def read_sheet_of(row: Upload, sheet: str, reason: str, by: User) -> Upload:
    """Read another sheet of the workbook; in the caller's transaction, which holds ``row``. Raises ValidationError."""
    mark_withdrawn(row, reason, by)
    return read_in(row, by, instrument=row.instrument, sheet=sheet, settled=None, understood=None)


def read_in_again(upload: Upload, by: User) -> Upload:
    """Read a file in again that was withdrawn, as it was read before. Raises ValidationError."""
    with all_or_nothing(Upload):
        row = held(upload)
        if not row.withdrawn:
            raise ValidationError(IN_USE)
        if row.read_anew_as.exclude(state=Upload.State.WITHDRAWN).exists():
            raise ValidationError(ALREADY_ANEW)
        return read_in(row, by, instrument=row.instrument, twin=row.twin, outside=row.outside)


def read_in(row: Upload, by: User, **said: object) -> Upload:
    """The same bytes as an upload of its own: as ``row`` was settled, but for what is ``said``."""
    same = {name: getattr(row, name) for name in SAME}
    new = Upload(**{**same, **said}, original=row.original.name, uploaded_by=by, reads_anew=row)
    new.save(force_insert=True)
    ask_to_read(new, by)
    return new
