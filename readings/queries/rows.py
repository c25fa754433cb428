"""Stored readings as arrays: the only place that selects from the readings table.

On PostgreSQL rows come as binary COPY and are read by numpy without touching single values; on SQLite through a cursor.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from django.db import connection

TABLE = "readings_reading"

ROW = np.dtype([("stamp", "i8"), ("nth", "i8"), ("raw", "f8"), ("flag", "i8"), ("upload_id", "i8"), ("line", "i8")])
Rows = npt.NDArray[Any]

WHERE = f"FROM {TABLE} WHERE channel_id = %s AND stamp BETWEEN %s AND %s ORDER BY stamp, nth"
# NULL is a stored error without a value: nan in arrays. SQLite has no nan, but it has infinity, which is never stored.
SELECT = f"SELECT stamp, nth, coalesce(raw, 9e999), flag, upload_id, line {WHERE}"
COPY = f"COPY (SELECT stamp, nth, coalesce(raw, 'NaN'), flag, upload_id, line {WHERE}) TO STDOUT (FORMAT BINARY)"

# One binary COPY tuple: a field count, then each field behind its length.
TUPLE = np.dtype(
    [("fields", ">i2"), ("l0", ">i4"), ("stamp", ">i8"), ("l1", ">i4"), ("nth", ">i2"), ("l2", ">i4"), ("raw", ">f8"),
     ("l3", ">i4"), ("flag", ">i2"), ("l4", ">i4"), ("upload_id", ">i8"), ("l5", ">i4"), ("line", ">i4")]
)  # fmt: skip
HEADER_BYTES = 19


def rows(channel_id: int, low: int, high: int) -> Rows:
    """Readings of a channel with low ≤ stamp ≤ high as a structured array of ROW, ordered by stamp and nth."""
    if connection.vendor == "postgresql":
        return _copied(channel_id, low, high)
    with connection.cursor() as cursor:
        cursor.execute(SELECT, (channel_id, low, high))
        found = np.array(cursor.fetchall(), dtype=ROW)
    found["raw"][np.isinf(found["raw"])] = np.nan
    return found


def _copied(channel_id: int, low: int, high: int) -> Rows:
    # psycopg's own cursor: Django's debugging wrapper around it knows no COPY with parameters.
    with connection.cursor() as cursor, cursor.cursor.copy(COPY, (channel_id, low, high)) as copy:
        data = b"".join(copy)
    packed = np.frombuffer(data, dtype=TUPLE, offset=HEADER_BYTES, count=(len(data) - HEADER_BYTES) // TUPLE.itemsize)
    found = np.empty(len(packed), dtype=ROW)
    for name in ROW.names or ():
        found[name] = packed[name]
    return found
