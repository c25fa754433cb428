"""Readings into SQLite: one executemany a batch."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from itertools import repeat
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db import connection

from readings.models import Envelope
from readings.queries.rows import TABLE

if TYPE_CHECKING:
    from readings.store.batches import Batch

INSERT = f"INSERT INTO {TABLE} (channel_id, stamp, nth, raw, flag, upload_id, line) VALUES (?, ?, ?, ?, ?, ?, ?)"  # noqa: S608


def insert(batches: list[Batch]) -> None:
    # The driver's own method takes row after row as they come; Django's keeps all of them until the last one is in.
    # Without the wrapper its errors would not be Django's, and a key held meanwhile not be seen.
    with connection.wrap_database_errors, connection.cursor() as cursor:
        for batch in batches:
            sqlite3.Cursor.executemany(cursor.cursor, INSERT, _rows(batch))


def insert_envelopes(envelopes: list[Envelope]) -> None:
    Envelope.objects.bulk_create(envelopes)


def _rows(batch: Batch) -> Iterator[tuple[Any, ...]]:
    raw = batch.raw.tolist() if not np.isnan(batch.raw).any() else [None if x != x else x for x in batch.raw.tolist()]
    return zip(
        repeat(batch.channel_id), batch.stamp.tolist(), batch.nth.tolist(), raw, batch.flag.tolist(),
        repeat(batch.upload_id), batch.line.tolist(),
    )  # fmt: skip
