"""Withdrawing a file: from then on nothing of it counts, and what other files held of the same memory does.

That a file is withdrawn is one row, written at once; its readings are moved chunk by chunk afterwards, as they came. A
worker that is killed leaves whole chunks, and the next run goes on.
"""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils import timezone

from campaigns.enqueue import Outcome, enqueue
from campaigns.models import Channel, Job, User
from campaigns.services.integrity import DELETED
from campaigns.services.records import all_or_nothing, check
from campaigns.signals import inputs_changed
from readings.job_kinds import READ_UPLOAD, SET_ASIDE
from readings.models import Envelope, SettingAside, Upload
from readings.queries.aside_stretches import stretches_of
from readings.services import duplicate_memory
from readings.services.affected_campaigns import fed_by
from readings.services.receive import ask_to_read, is_running
from readings.store import LEFT_OUT, aside

RUNNING = "It is being read at this moment: withdraw it, or have it read another way, when that has ended."
WITHDRAWN = "It is withdrawn already."


def withdraw(upload: Upload, reason: str, by: User) -> SettingAside:
    """Nothing of ``upload`` counts any more; its readings are set aside by a job. Raises ValidationError."""
    with all_or_nothing(SettingAside):
        row = held(upload)
        decided = mark_withdrawn(row, reason, by)
        enqueue(SET_ASIDE, row.pk, organisation_id=decided.organisation_id, owner=by)
    return decided


def held(upload: Upload) -> Upload:
    """The row as it stands now, held as the worker that takes it up does. Raises ValidationError when it is gone."""
    rows: QuerySet[Upload] = Upload.objects.select_for_update(of=("self",))
    found = rows.select_related("campaign__site", "instrument").filter(pk=upload.pk).first()
    if found is None:
        raise ValidationError(DELETED)
    return found


def mark_withdrawn(row: Upload, reason: str, by: User) -> SettingAside:
    """``row`` is held. Raises ValidationError while it is being read, or where it is withdrawn already."""
    if row.withdrawn:
        raise ValidationError(WITHDRAWN)
    if is_running(row):
        raise ValidationError(RUNNING)
    decided = SettingAside(organisation_id=row.campaign.site.organisation_id, upload=row, reason=reason, by=by)
    check(decided)
    decided.save(force_insert=True)
    row.state = Upload.State.WITHDRAWN
    row.save(update_fields=["state"])
    asked = Job.objects.filter(kind=READ_UPLOAD, subject_id=row.pk, state__in=Job.TO_LOOK_AT)
    asked.update(state=Job.State.DONE, code="withdrawn", message="It was withdrawn.")
    return decided


def read_after(upload: Upload) -> QuerySet[Upload]:
    """Files that are read again when ``upload`` is withdrawn: they held readings of the same instrument, or were left
    out because of such, so that theirs may count now."""
    if upload.instrument_id is None:
        return Upload.objects.none()
    moving = Job.objects.filter(kind=READ_UPLOAD, state__in=(Job.State.QUEUED, Job.State.RUNNING))
    left_out = Q(problems__code__in=(*LEFT_OUT, duplicate_memory.CODE))
    others = Upload.objects.filter(instrument=upload.instrument_id).exclude(pk=upload.pk)
    others = others.exclude(state=Upload.State.WITHDRAWN).exclude(reads_anew=upload.pk)
    others = others.filter(Q(held__gt=0) | left_out | Q(pk__in=moving.values("subject_id")))
    if upload.first_stamp_ms is not None and upload.last_stamp_ms is not None:
        meets = Q(first_stamp_ms__lte=upload.last_stamp_ms, last_stamp_ms__gte=upload.first_stamp_ms)
        others = others.filter(meets | Q(first_stamp_ms=None))
    return others.distinct()


# --- the work ---------------------------------------------------------------------------------------------------------


def set_readings_aside(job: Job) -> Outcome:
    """The job "set-aside"."""
    decided = SettingAside.objects.filter(upload=job.subject_id).select_related("upload").first()
    if decided is None:
        return Job.State.DONE, "gone", "Nothing is to be set aside."
    finish(decided, job)
    decided.refresh_from_db()
    return Job.State.DONE, "set-aside", f"{decided.count:,} reading{'s' * (decided.count != 1)} set aside."


def finish(decided: SettingAside, job: Job) -> None:
    """Move what is left of the withdrawn upload, and have the other files read again. Safe to run twice, and by two."""
    if decided.done_at is not None:
        return
    upload = decided.upload
    assert upload is not None
    for chunk in _chunks(upload):
        with transaction.atomic():
            _move(decided, chunk)
            job.beat()
    with all_or_nothing(SettingAside):
        row = held(upload)
        channels = [
            c.pk for c in Channel.objects.filter(instrument=row.instrument_id).select_for_update().order_by("pk")
        ]
        for chunk in _chunks(row):  # of a stretch that was taken back meanwhile
            _move(decided, chunk)
        stretches = [stretch.pk for of_one in stretches_of(channels).values() for stretch in of_one]
        along = aside.take_along(decided, stretches)
        ended = SettingAside.objects.filter(pk=decided.pk, done_at=None)
        if not ended.update(done_at=timezone.now(), count=F("count") + along):
            return
        inputs_changed.send(SettingAside, campaign_ids=fed_by(Upload.objects.filter(pk=row.pk)))
        job.beat()
        for other in read_after(row).select_related("campaign__site"):
            ask_to_read(other, decided.by)


def _chunks(upload: Upload) -> list[Envelope]:
    """Of its readings that count still, without what is in them."""
    if upload.instrument_id is None:
        return []
    envelopes = Envelope.objects.filter(channel__instrument=upload.instrument_id, upload=upload)
    return list(envelopes.defer("parts").order_by("channel", "first_stamp"))


def _move(decided: SettingAside, chunk: Envelope) -> None:
    """The upload first: of two that move the same readings, one waits for the other."""
    Upload.objects.filter(pk=chunk.upload_id).update(asides=F("asides") + 1)
    moved = aside.move_chunk(decided, chunk)
    SettingAside.objects.filter(pk=decided.pk).update(count=F("count") + moved)
