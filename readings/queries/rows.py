"""Stored readings as arrays: the only place that selects from the readings table.

A driver hands out row by row, and that costs more than the reading itself. On PostgreSQL the rows of a block come as
one array a column, in binary, and are read by numpy without touching single values; on SQLite as one piece of bytes,
which an aggregate function of ours puts together.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
from django.db import connection
from django.db.backends.signals import connection_created

TABLE = "readings_reading"

ROW = np.dtype([("stamp", "i8"), ("nth", "i8"), ("raw", "f8"), ("flag", "i8"), ("upload_id", "i8"), ("line", "i8")])
Rows = npt.NDArray[Any]

#: Stamps of one channel, both ends included.
Reach = tuple[int, int, int]
LARGEST_NTH = 2**15 - 1

# NULL is a stored error without a value: nan in arrays. SQLite has no nan, but it has infinity, which is never stored.
PACKED = f"""
    packed_rows(stamp, nth, coalesce(raw, 9e999), flag, upload_id, line)
    FROM (SELECT stamp, nth, raw, flag, upload_id, line FROM {TABLE}
          WHERE channel_id = %s AND (stamp, nth) > (%s, %s) AND stamp <= %s ORDER BY stamp, nth LIMIT %s)
"""  # noqa: S608
PACKED_ROW = np.dtype(
    [("stamp", "<i8"), ("nth", "<i2"), ("raw", "<f8"), ("flag", "<i2"), ("upload_id", "<i8"), ("line", "<i4")]
)
MOST_TOGETHER = 500  # selects that SQLite joins

#: Rows that the database puts together at a time: a few megabytes.
BLOCK = 200_000
# Small numbers travel in pairs: two arrays cost the database half as much as reading the rows. Numbers of uploads stay
# under 2³¹, flags are not negative, nth may be.
ARRAYS = """
    SELECT array_agg(stamp) AS stamp, array_agg(coalesce(raw, 'NaN')) AS raw,
           array_agg((nth::int << 16) | flag) AS nth_flag, array_agg((upload_id << 32) | line) AS upload_line
"""
BLOCKS = f"""
    {ARRAYS}
    FROM (SELECT stamp, nth, raw, flag, upload_id, line FROM {TABLE}
          WHERE channel_id = %s AND (stamp, nth) > (%s, %s) AND stamp <= %s ORDER BY stamp, nth LIMIT {BLOCK}) AS block
"""  # noqa: S608
SEVERAL = f"""
    SELECT found.*
    FROM unnest(%s::bigint[], %s::bigint[], %s::bigint[]) WITH ORDINALITY AS reach (channel, low, high, k)
    CROSS JOIN LATERAL ({ARRAYS}
        FROM (SELECT stamp, nth, raw, flag, upload_id, line FROM {TABLE}
              WHERE channel_id = reach.channel AND stamp >= reach.low AND stamp <= reach.high
              LIMIT %s) AS block) AS found
    ORDER BY reach.k
"""  # noqa: S608
BINARY = 1  # psycopg.pq.Format.BINARY, which may not be installed
# An array on the wire: 20 bytes, of which the fourth integer is the number of elements; each behind its length.
COUNT, FIRST = 12, 20
ELEMENTS = tuple(np.dtype([("length", ">i4"), ("value", kind)]) for kind in (">i8", ">f8", ">i4", ">i8"))


def rows(channel_id: int, low: int, high: int) -> Rows:
    """Readings of a channel with low ≤ stamp ≤ high as a structured array of ROW, ordered by stamp and nth."""
    return _after(channel_id, (low - 1, LARGEST_NTH), high)


def row_blocks(channel_id: int, low: int, high: int) -> Iterator[Rows]:
    """What :func:`rows` gives, block by block; the last one may be empty."""
    return _blocks(channel_id, (low - 1, LARGEST_NTH), high)


def rows_of(reaches: Sequence[Reach]) -> Iterator[Rows]:
    """What :func:`rows` gives for each of ``reaches`` (channel, low, high), in turn.

    One query for all of them; where they hold more than ``BLOCK`` readings, those that are cut short are read by
    themselves when their turn comes, so that no more than that and the longest of them is in memory.
    """
    if len(reaches) == 1:
        yield rows(*reaches[0])
        return
    for first in range(0, len(reaches), MOST_TOGETHER):
        some = reaches[first : first + MOST_TOGETHER]
        most = -(-BLOCK // len(some))
        together = _several_arrays if connection.vendor == "postgresql" else _several_selects
        for reach, stored in zip(some, together(some, most), strict=True):
            yield stored if len(stored) < most else rows(*reach)


def in_file_order(stored: Rows) -> Rows:
    """By upload and line, as they mostly are: sorting and copying costs more than looking."""
    upload, line = stored["upload_id"], stored["line"]
    later = upload[1:] > upload[:-1]
    later |= (upload[1:] == upload[:-1]) & (line[1:] >= line[:-1])
    return stored if later.all() else stored[np.lexsort((line, upload))]


def _after(channel_id: int, after: tuple[int, int], high: int) -> Rows:
    """Rows behind the key ``after``, to the stamp ``high``."""
    blocks = list(_blocks(channel_id, after, high))
    return np.concatenate(blocks) if len(blocks) != 1 else blocks[0]


class _Packed:
    """Aggregate function of SQLite: rows one behind the other, each as ``PACKED_ROW`` has it.

    Half the time of a list of tuples, and little memory beside the rows.
    """

    pack = struct.Struct("<qhdhqi").pack

    def __init__(self) -> None:
        self.rows = bytearray()

    def step(self, *row: Any) -> None:
        self.rows += self.pack(*row)

    def finalize(self) -> bytearray:
        return self.rows


def _teach(connection: Any, **_: Any) -> None:
    if connection.vendor == "sqlite":
        connection.connection.create_aggregate("packed_rows", len(PACKED_ROW.fields or ()), _Packed)


connection_created.connect(_teach, dispatch_uid="readings.packed_rows")


def _unpacked(packed: bytes | None) -> Rows:
    unpacked = np.frombuffer(packed or b"", dtype=PACKED_ROW).astype(ROW)
    unpacked["raw"][np.isinf(unpacked["raw"])] = np.nan
    return unpacked


def _several_selects(reaches: Sequence[Reach], most: int) -> list[Rows]:
    """Of each all rows, or ``most`` of them."""
    values = [value for channel, low, high in reaches for value in (channel, low - 1, LARGEST_NTH, high, most)]
    counted = [f"SELECT {k}, {PACKED}" for k in range(len(reaches))]
    with connection.cursor() as cursor:
        cursor.execute(" UNION ALL ".join(counted), values)
        by_reach = dict(cursor.fetchall())
    return [_unpacked(by_reach[k]) for k in range(len(reaches))]


def _several_arrays(reaches: Sequence[Reach], most: int) -> list[Rows]:
    """Of each all rows, or ``most`` of them. They lie mostly in the order they were written in, so that sorting what is
    not costs less here than sorting all of them there."""
    channels, lows, highs = (list(column) for column in zip(*reaches, strict=True))
    with _binary_cursor() as cursor:
        cursor.execute(SEVERAL, (channels, lows, highs, most))
        return [_sorted(_rows_at(cursor.pgresult, k)) for k in range(len(reaches))]


def _sorted(stored: Rows) -> Rows:
    stamp, nth = stored["stamp"], stored["nth"]
    later = stamp[1:] > stamp[:-1]
    if not later.all() and not (later | ((stamp[1:] == stamp[:-1]) & (nth[1:] > nth[:-1]))).all():
        return stored[np.lexsort((nth, stamp))]
    return stored


def _blocks(channel_id: int, after: tuple[int, int], high: int) -> Iterator[Rows]:
    """The rows block by block; the last one is not full, and may be empty."""
    while True:
        block = _block(channel_id, after, high)
        yield block
        if len(block) < BLOCK:
            return
        after = int(block["stamp"][-1]), int(block["nth"][-1])


def _block(channel_id: int, after: tuple[int, int], high: int) -> Rows:
    if connection.vendor == "postgresql":
        with _binary_cursor() as cursor:
            cursor.execute(BLOCKS, (channel_id, *after, high))
            return _rows_at(cursor.pgresult, 0)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {PACKED}", (channel_id, *after, high, BLOCK))
        return _unpacked(cursor.fetchone()[0])


def _binary_cursor() -> Any:
    """Django's own cursor binds values itself, and then PostgreSQL answers in text only."""
    from django.db.backends.postgresql.base import ServerBindingCursor  # cannot be imported without a driver

    connection.ensure_connection()
    made: Any = ServerBindingCursor  # its stubs know neither psycopg's arguments nor its attributes
    cursor = made(connection.connection)
    cursor.format = BINARY
    return connection.make_debug_cursor(cursor) if connection.queries_logged else connection.make_cursor(cursor)


def _rows_at(result: Any, k: int) -> Rows:
    """Arrays of one row of the answer as rows."""
    columns = [result.get_value(k, column) for column in range(len(ELEMENTS))]
    if columns[0] is None:  # an aggregate of no rows
        return np.empty(0, dtype=ROW)
    count = int.from_bytes(columns[0][COUNT : COUNT + 4], "big")
    stored = np.empty(count, dtype=ROW)
    stamp, raw, nth_flag, upload_line = (
        np.frombuffer(data, kind, count, offset=FIRST)["value"] for kind, data in zip(ELEMENTS, columns, strict=True)
    )
    stored["stamp"], stored["raw"] = stamp, raw
    stored["nth"], stored["flag"] = nth_flag >> 16, nth_flag & 0xFFFF
    stored["upload_id"], stored["line"] = upload_line >> 32, upload_line & 0xFFFF_FFFF
    return stored
