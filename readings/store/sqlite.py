"""Readings into SQLite: one executemany a batch."""

from __future__ import annotations

from itertools import repeat
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db import connection

from readings.queries.rows import TABLE

if TYPE_CHECKING:
    from readings.store.batches import Batch

INSERT = f"INSERT INTO {TABLE} (channel_id, stamp, nth, raw, flag, upload_id, line) VALUES (%s, %s, %s, %s, %s, %s, %s)"  # noqa: S608


def insert(batches: list[Batch]) -> None:
    with connection.cursor() as cursor:
        for batch in batches:
            cursor.executemany(INSERT, list(_rows(batch)))


def _rows(batch: Batch) -> Any:
    raw = batch.raw.tolist() if not np.isnan(batch.raw).any() else [None if x != x else x for x in batch.raw.tolist()]
    return zip(
        repeat(batch.channel_id), batch.stamp.tolist(), batch.nth.tolist(), raw, batch.flag.tolist(),
        repeat(batch.upload_id), batch.line.tolist(),
    )  # fmt: skip
