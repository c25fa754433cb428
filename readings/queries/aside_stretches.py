"""Stretches of channels that a person set aside, and the readings that are held with and without them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

import numpy as np

from readings.models import AsideReading, SettingAside
from readings.queries.rows import ROW, Rows, rows


class AsideStretch(NamedTuple):
    """Stamps of a channel from ``first`` to ``last``, both included. ``pk``: of its row."""

    pk: int
    first: int
    last: int


def stretches_of(channel_ids: Collection[int]) -> dict[int, list[AsideStretch]]:
    """By channel what of it is set aside now. One query; none for none."""
    found: dict[int, list[AsideStretch]] = {}
    if channel_ids:
        aside = SettingAside.objects.filter(channel__in=channel_ids, taken_back_at__isnull=True)
        for channel, pk, first, last in aside.values_list("channel_id", "pk", "first_stamp_ms", "last_stamp_ms"):
            if channel is not None and first is not None and last is not None:  # as the database keeps it
                found.setdefault(channel, []).append(AsideStretch(pk, first, last))
    return found


def held_rows(channel_id: int, low: int, high: int, stretches: Sequence[AsideStretch]) -> Rows:
    """What :func:`rows` gives, with what ``stretches`` of the channel hold of it: all whose keys are taken."""
    counted = rows(channel_id, low, high)
    touching = [stretch.pk for stretch in stretches if stretch.first <= high and stretch.last >= low]
    if not touching:
        return counted
    aside = AsideReading.objects.filter(setting_aside__in=touching, stamp__gte=low, stamp__lte=high).order_by()
    found = aside.values_list("stamp", "nth", "raw", "flag", "upload_id", "line")
    kept = [
        (stamp, nth, np.nan if raw is None else raw, flag, upload, line)
        for stamp, nth, raw, flag, upload, line in found
    ]
    together = np.concatenate((counted, np.array(kept, dtype=ROW)))
    return together[np.lexsort((together["nth"], together["stamp"]))]
