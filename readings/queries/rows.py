"""Stored readings as arrays: the only place that selects from the readings table.

A driver hands out row by row, and on PostgreSQL that costs more than the reading itself. There the rows of a block come
as one array a column, in binary, and are read by numpy without touching single values; on SQLite through a cursor.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
from django.db import connection

TABLE = "readings_reading"

ROW = np.dtype([("stamp", "i8"), ("nth", "i8"), ("raw", "f8"), ("flag", "i8"), ("upload_id", "i8"), ("line", "i8")])
Rows = npt.NDArray[Any]

# NULL is a stored error without a value: nan in arrays. SQLite has no nan, but it has infinity, which is never stored.
SELECT = f"""
    SELECT stamp, nth, coalesce(raw, 9e999), flag, upload_id, line
    FROM {TABLE} WHERE channel_id = %s AND stamp BETWEEN %s AND %s ORDER BY stamp, nth
"""  # noqa: S608

#: Rows that the database puts together at a time: a few megabytes.
BLOCK = 200_000
BLOCKS = f"""
    SELECT array_agg(stamp), array_agg(nth), array_agg(coalesce(raw, 'NaN')), array_agg(flag), array_agg(upload_id),
           array_agg(line)
    FROM (SELECT stamp, nth, raw, flag, upload_id, line FROM {TABLE}
          WHERE channel_id = %s AND (stamp, nth) > (%s, %s) AND stamp <= %s ORDER BY stamp, nth LIMIT {BLOCK}) AS block
"""  # noqa: S608
BINARY = 1  # psycopg.pq.Format.BINARY, which may not be installed
# An array on the wire: 20 bytes, of which the fourth integer is the number of elements; each behind its length.
COUNT, FIRST = 12, 20
ELEMENTS = tuple(np.dtype([("length", ">i4"), ("value", kind)]) for kind in (">i8", ">i2", ">f8", ">i2", ">i8", ">i4"))
LARGEST_NTH = 2**15 - 1


def rows(channel_id: int, low: int, high: int) -> Rows:
    """Readings of a channel with low ≤ stamp ≤ high as a structured array of ROW, ordered by stamp and nth."""
    if connection.vendor == "postgresql":
        blocks = list(_blocks(channel_id, low, high))
        return np.concatenate(blocks) if len(blocks) != 1 else blocks[0]
    with connection.cursor() as cursor:
        cursor.execute(SELECT, (channel_id, low, high))
        found = np.array(cursor.fetchall(), dtype=ROW)
    found["raw"][np.isinf(found["raw"])] = np.nan
    return found


def _blocks(channel_id: int, low: int, high: int) -> Iterator[Rows]:
    """The rows block by block; the last one is not full, and may be empty."""
    after = (low - 1, LARGEST_NTH)
    while True:
        block = _block(channel_id, after, high)
        yield block
        if len(block) < BLOCK:
            return
        after = int(block["stamp"][-1]), int(block["nth"][-1])


def _binary_cursor() -> Any:
    """Django's own cursor binds values itself, and then PostgreSQL answers in text only."""
    from django.db.backends.postgresql.base import ServerBindingCursor  # cannot be imported without a driver

    connection.ensure_connection()
    made: Any = ServerBindingCursor  # its stubs know neither psycopg's arguments nor its attributes
    cursor = made(connection.connection)
    cursor.format = BINARY
    return connection.make_debug_cursor(cursor) if connection.queries_logged else connection.make_cursor(cursor)


def _block(channel_id: int, after: tuple[int, int], high: int) -> Rows:
    with _binary_cursor() as cursor:
        cursor.execute(BLOCKS, (channel_id, *after, high))
        columns = [cursor.pgresult.get_value(0, k) for k in range(len(ELEMENTS))]
    if columns[0] is None:  # an aggregate of no rows
        return np.empty(0, dtype=ROW)
    count = int.from_bytes(columns[0][COUNT : COUNT + 4], "big")
    found = np.empty(count, dtype=ROW)
    for name, kind, data in zip(ROW.names or (), ELEMENTS, columns, strict=True):
        found[name] = np.frombuffer(data, kind, count, offset=FIRST)["value"]
    return found
