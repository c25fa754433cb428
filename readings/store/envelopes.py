"""Envelopes beside readings: written with them, and made anew where some are set aside or come back."""

from __future__ import annotations

from collections.abc import Iterator

from django.db import connection
from django.db.models import Max, Min, QuerySet

from methods.figures.block_summary import parts_of
from readings.models import Envelope
from readings.queries.rows import Rows, row_blocks
from readings.store import postgres, sqlite
from readings.store.batches import Batch

#: Readings under one envelope that is made anew: as many as a chunk of a file.
TOGETHER = 50_000


def envelope_of(new: Batch) -> Envelope:
    """``new`` in the order of its keys, not empty."""
    first, last = int(new.stamp[0]), int(new.stamp[-1])
    return Envelope(
        channel_id=new.channel_id, upload_id=new.upload_id, first_stamp=first, last_stamp=last, count=len(new),
        parts=parts_of(new).tobytes(),
    )  # fmt: skip


def made_anew(channel_id: int, upload_id: int, low: int, high: int) -> None:
    """After readings of the channel and upload from ``low`` to ``high`` have gone or come, in the caller's transaction.

    An envelope is of all readings that came in one chunk, so those that reach across the stretch are made anew whole.
    """
    of_both = Envelope.objects.filter(channel=channel_id, upload=upload_id)
    touched, low, high = _touching(of_both, low, high)
    touched.delete()
    found = list(_envelopes(channel_id, upload_id, low, high))
    if found:
        (postgres if connection.vendor == "postgresql" else sqlite).insert_envelopes(found)


def _touching(envelopes: QuerySet[Envelope], low: int, high: int) -> tuple[QuerySet[Envelope], int, int]:
    """Those that hold stamps from ``low`` to ``high``, or touch one that does; and from where to where they reach."""
    while True:
        touched = envelopes.filter(first_stamp__lte=high, last_stamp__gte=low)
        reach = touched.aggregate(low=Min("first_stamp"), high=Max("last_stamp"))
        if reach["low"] is None or (reach["low"] >= low and reach["high"] <= high):
            return touched, low, high
        low, high = min(low, reach["low"]), max(high, reach["high"])


def _envelopes(channel_id: int, upload_id: int, low: int, high: int) -> Iterator[Envelope]:
    for block in row_blocks(channel_id, low, high):
        own = block[block["upload_id"] == upload_id]
        for first in range(0, len(own), TOGETHER):
            yield envelope_of(_batch(channel_id, upload_id, own[first : first + TOGETHER]))


def _batch(channel_id: int, upload_id: int, stored: Rows) -> Batch:
    columns = (stored[name].copy() for name in ("stamp", "nth", "raw", "flag", "line"))
    return Batch(channel_id, upload_id, *columns)
