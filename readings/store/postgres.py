"""Readings into PostgreSQL: binary COPY, built by numpy without touching single rows."""

from __future__ import annotations

import struct
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np
from django.db import connection

from readings.queries.rows import TABLE

if TYPE_CHECKING:
    from readings.models import Envelope
    from readings.store.batches import Batch

COPY = f"COPY {TABLE} (channel_id, stamp, nth, raw, flag, upload_id, line) FROM STDIN (FORMAT BINARY)"
COPY_ENVELOPES = """
    COPY readings_envelope (channel_id, upload_id, first_stamp, last_stamp, count, parts) FROM STDIN (FORMAT BINARY)
"""
HEADER = b"PGCOPY\n\xff\r\n\0" + (0).to_bytes(4, "big") + (0).to_bytes(4, "big")
TRAILER = (-1).to_bytes(2, "big", signed=True)


def _row(with_raw: bool) -> np.dtype[Any]:
    """One binary COPY tuple: a field count, then each field behind its length. NULL is length −1 and no bytes."""
    raw = [("l3", ">i4"), ("raw", ">f8")] if with_raw else [("l3", ">i4")]
    return np.dtype(
        [("fields", ">i2"), ("l0", ">i4"), ("channel", ">i8"), ("l1", ">i4"), ("stamp", ">i8"), ("l2", ">i4"),
         ("nth", ">i2"), *raw, ("l4", ">i4"), ("flag", ">i2"), ("l5", ">i4"), ("upload", ">i8"), ("l6", ">i4"),
         ("line", ">i4")]
    )  # fmt: skip


VALUED, EMPTY = _row(True), _row(False)


def encode(batch: Batch) -> bytes:
    """The batch as binary COPY tuples, without header and trailer."""
    empty = np.isnan(batch.raw)
    if not empty.any():
        return _encode(batch, VALUED)
    return _encode(batch.only(~empty), VALUED) + _encode(batch.only(empty), EMPTY)


def _encode(batch: Batch, dtype: np.dtype[Any]) -> bytes:
    rows = np.empty(len(batch), dtype=dtype)
    rows["fields"] = 7
    for name, length in (("l0", 8), ("l1", 8), ("l2", 2), ("l4", 2), ("l5", 8), ("l6", 4)):
        rows[name] = length
    rows["channel"], rows["upload"] = batch.channel_id, batch.upload_id
    rows["stamp"], rows["nth"], rows["flag"], rows["line"] = batch.stamp, batch.nth, batch.flag, batch.line
    if dtype is VALUED:
        rows["l3"], rows["raw"] = 8, batch.raw
    else:
        rows["l3"] = -1
    return rows.tobytes()


def insert(batches: list[Batch]) -> None:
    _copy(COPY, map(encode, batches))


def insert_envelopes(envelopes: list[Envelope]) -> None:
    """In binary, because parts as text are twice as long and take twice the time."""
    _copy(COPY_ENVELOPES, map(_envelope, envelopes))


def _envelope(envelope: Envelope) -> bytes:
    numbers = (envelope.channel_id, envelope.upload_id, envelope.first_stamp, envelope.last_stamp, envelope.count)
    fields = b"".join(struct.pack(">iq", 8, number) for number in numbers)
    return struct.pack(">h", 6) + fields + struct.pack(">i", len(envelope.parts)) + bytes(envelope.parts)


def _copy(statement: str, encoded: Iterable[bytes]) -> None:
    # COPY is the driver's own: without this its errors would not be Django's, and a key held meanwhile not be seen.
    with connection.wrap_database_errors, connection.cursor() as cursor, cursor.copy(statement) as copy:
        copy.write(HEADER)
        for rows in encoded:
            copy.write(rows)
        copy.write(TRAILER)
