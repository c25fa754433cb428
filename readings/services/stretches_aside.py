"""Setting single readings or a stretch of a channel aside, and taking that back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.core.exceptions import ValidationError
from django.db.models import F, QuerySet
from django.utils import timezone

from campaigns.models import Channel, User
from campaigns.services.records import all_or_nothing, check, current
from campaigns.signals import inputs_changed
from readings.models import SettingAside, Upload
from readings.services.affected_campaigns import fed_by
from readings.store import aside
from readings.store.aside import Moved

NO_CHANNEL = "Choose a channel of the instrument."
NOTHING = "No reading that counts lies there."
OVERLAP = "A part of it is set aside already: take that back first, or choose another stretch."
BACK = "It was taken back already."


def set_aside(channels: Sequence[Channel], first: int, last: int, reason: str, by: User) -> list[SettingAside]:
    """What ``channels`` of one instrument stored from stamp ``first`` to ``last``, both included, does not count.

    One row for each channel that has readings there. Raises ValidationError; then nothing has changed.
    """
    if not channels:
        raise ValidationError(NO_CHANNEL)
    instrument = channels[0].instrument
    with all_or_nothing(SettingAside):
        _hold([channel.pk for channel in channels])
        there = SettingAside.objects.filter(channel__in=channels, taken_back_at=None)
        if there.filter(first_stamp_ms__lte=last, last_stamp_ms__gte=first).exists():
            raise ValidationError(OVERLAP)
        made = [_set_aside(channel, first, last, reason, by) for channel in channels]
        if not (kept := [row for row in made if row.count]):
            raise ValidationError(NOTHING)
        _none_of(row for row in made if not row.count)
        inputs_changed.send(SettingAside, campaign_ids=fed_by(_files(instrument.pk)))
    return kept


def take_back(decided: SettingAside, by: User) -> SettingAside:
    """What was set aside counts again. Raises ValidationError where it was a file, or was taken back already."""
    with all_or_nothing(SettingAside):
        if decided.channel is None:
            raise ValidationError("A file is not taken back, but read in again.")
        _hold([decided.channel.pk])
        row = current(decided)
        if row.taken_back_at is not None:
            raise ValidationError(BACK)
        _noted(aside.move_back(row))
        row.taken_back_at, row.taken_back_by = timezone.now(), by
        row.save(update_fields=["taken_back_at", "taken_back_by"])
        inputs_changed.send(SettingAside, campaign_ids=fed_by(_files(decided.channel.instrument_id)))
    return row


def _hold(channel_ids: list[int]) -> None:
    """The files of the instrument, then its channels: nobody stores readings of them meanwhile."""
    files = Upload.objects.filter(instrument__channels__in=channel_ids).values("pk")
    list(Upload.objects.filter(pk__in=files).select_for_update(no_key=True).order_by("pk").values_list("pk"))
    list(Channel.objects.filter(pk__in=channel_ids).select_for_update().order_by("pk").values_list("pk"))


def _set_aside(channel: Channel, first: int, last: int, reason: str, by: User) -> SettingAside:
    row = SettingAside(
        organisation_id=channel.instrument.organisation_id, channel=channel, first_stamp_ms=first, last_stamp_ms=last,
        reason=reason, by=by, done_at=timezone.now(),
    )  # fmt: skip
    check(row)
    row.save(force_insert=True)
    row.count = _noted(aside.move_stretch(row))
    row.save(update_fields=["count"])
    return row


def _none_of(rows: Iterable[SettingAside]) -> None:
    """Channels without readings there have nothing to be taken back."""
    for row in rows:
        row.delete()


def _noted(moved: Moved) -> int:
    """That other readings of these files count now. How many were moved."""
    Upload.objects.filter(pk__in={upload for _, upload in moved}).update(asides=F("asides") + 1)
    return sum(count for _, _, count in moved.values())


def _files(instrument_id: int) -> QuerySet[Upload]:
    return Upload.objects.filter(instrument=instrument_id).exclude(state=Upload.State.WITHDRAWN)
