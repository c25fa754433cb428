"""Taking a file in: hashed while it is copied, stored once, queued after the commit."""

from __future__ import annotations

import hashlib
import logging
import re
from dataclasses import dataclass
from typing import IO, Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.files.base import File
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, OperationalError, transaction
from django.db.models import Q

from campaigns.enqueue import enqueue
from campaigns.free_space import has_room_for
from campaigns.hiccups import BUSY, FULL, hiccup_of
from campaigns.models import Campaign, Instrument, Job, User
from readings.job_kinds import READ_UPLOAD
from readings.models import Upload

log = logging.getLogger(__name__)

CHUNK = 1024 * 1024
NO_ROOM = "There is no space left for “{}”, and nothing of it was kept. Tell the operator, and hand it in again then."
NOT_KEPT = "“{}” was not taken, and nothing of it was kept. {} Hand it in again later."
NOT_OURS = "Choose one of your own instruments."


class UploadRefused(Exception):
    """The file is not taken; the message says why and what to do. ``passing``: nothing is wrong with the file, and it
    may be taken later."""

    passing = False


class NotNow(UploadRefused):
    """There is no space for the file, or its place does not answer."""

    passing = True


@dataclass(frozen=True)
class Receipt:
    upload: Upload
    already_held: bool


def receive(file: UploadedFile[Any], campaign: Campaign, instrument: Instrument | None, by: User) -> Receipt:
    """Keep the original and queue its reading. The same file again is answered with the upload that holds it; it is
    another one for another instrument, and after it was withdrawn.

    Raises UploadRefused for an empty or an oversized file, NotNow where it cannot be kept, ValidationError for an
    instrument of another organisation.
    """
    if instrument is not None and instrument.organisation_id != campaign.site.organisation_id:
        raise ValidationError({"instrument": NOT_OURS})
    name = display_name(file.name or "")
    check_size(name, file.size or 0)
    checksum = sha256_of(file)
    upload = Upload(
        campaign=campaign, instrument=instrument, uploaded_by=by, filename=name, size=file.size or 0, sha256=checksum
    )
    if not has_room_for(upload.size):
        raise NotNow(NO_ROOM.format(name))
    try:
        return keep(upload, File(file.file))
    except Exception as error:
        hiccup = hiccup_of(error)
        if hiccup is None:
            raise
        log.warning("A file of %s bytes was not taken.", upload.size, exc_info=True)
        raise NotNow(NO_ROOM.format(name) if hiccup == FULL else NOT_KEPT.format(name, hiccup.words)) from error


def keep(upload: Upload, content: File[Any]) -> Receipt:
    """Keep the bytes and the row of ``upload``, which was not saved yet, and queue its reading, unless it is held."""
    if held := held_as(upload.campaign, upload.instrument, upload.sha256):
        return Receipt(held, already_held=True)
    # The bytes first, then the row: a crash in between leaves a file that no row names, never a row without a file.
    content.seek(0)
    upload.original.save(upload.filename, content, save=False)
    try:
        with transaction.atomic():
            upload.save()
            ask_to_read(upload, upload.uploaded_by)
    except OperationalError as error:
        if hiccup_of(error) in (FULL, BUSY):  # there is no row; where a connection broke, there may be one
            upload.original.delete(save=False)
        raise
    except IntegrityError:  # the same file came twice at the same moment
        upload.original.delete(save=False)
        if (first := held_as(upload.campaign, upload.instrument, upload.sha256)) is None:
            raise
        return Receipt(first, already_held=True)
    return Receipt(upload, already_held=False)


def held_as(campaign: Campaign, instrument: Instrument | None, checksum: str) -> Upload | None:
    """The upload that holds these bytes already, as a log of ``instrument`` or of one that nobody named yet. Without
    an instrument any holds them: its serial number would be found in the file again."""
    held = Upload.objects.filter(campaign=campaign, sha256=checksum).exclude(state=Upload.State.WITHDRAWN)
    if instrument is not None:
        held = held.filter(Q(instrument=instrument) | Q(instrument=None))
    return held.order_by("pk").first()


def as_of(upload: Upload, instrument: Instrument) -> Upload | None:
    """Another upload of the same bytes in the same campaign, as a log of ``instrument``."""
    held = Upload.objects.filter(campaign=upload.campaign_id, sha256=upload.sha256, instrument=instrument)
    return held.exclude(pk=upload.pk).exclude(state=Upload.State.WITHDRAWN).first()


def is_running(upload: Upload) -> bool:
    """Whether a worker reads the file at this moment."""
    return Job.objects.filter(kind=READ_UPLOAD, subject_id=upload.pk, state=Job.State.RUNNING).exists()


def ask_to_read(upload: Upload, by: User | None) -> None:
    """Queue the reading of an upload, the first time or again after a person decided something."""
    enqueue(READ_UPLOAD, upload.pk, organisation_id=upload.campaign.site.organisation_id, owner=by)


def check_size(name: str, size: int) -> None:
    limit = settings.UPLOAD_MAX_BYTES
    if size == 0:
        raise UploadRefused(
            f"“{name}” is empty (0 bytes). Download the memory again and check that the export has finished."
        )
    if size > limit:
        raise UploadRefused(
            f"“{name}” has {size / 1e6:.0f} MB; files up to {limit / 1e6:.0f} MB are taken. Export a shorter period, "
            "or ask the operator to raise FANLIGHT_UPLOAD_MAX_MB."
        )


def sha256_of(file: UploadedFile[Any]) -> str:
    digest = hashlib.sha256()
    for chunk in file.chunks(CHUNK):
        digest.update(chunk)
    return digest.hexdigest()


def sha256_of_file(content: IO[bytes]) -> str:
    return hashlib.file_digest(content, "sha256").hexdigest()  # type: ignore[arg-type]


def printable(name: str) -> str:
    return "".join(c for c in name if c.isprintable()).strip()[:255]


def display_name(name: str) -> str:
    """The sender's file name as text to show: its last part, without what cannot be seen. Never used as a path.

    Not printable are control characters, and those that turn the direction of text and so hide an ending.
    """
    last = printable(re.split(r"[/\\]", name)[-1])
    return "unnamed" if last in ("", ".", "..") else last
