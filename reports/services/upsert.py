"""Many derived rows written at once: those that are there already, by their unique columns, are changed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import Any

from django.db import connection
from django.db.models import Model

#: Rows of a few kilobytes that the driver is handed at a time.
BATCH = 500


def upsert(rows: Sequence[Model], *, unique: Collection[str], changing: Collection[str]) -> None:
    """Insert ``rows``, all of one model; where ``unique`` names one that is there, take over the fields ``changing``.

    One statement, prepared once and given the values of row after row. Django's own bulk insert writes a statement
    that names every value of every row, and its driver then quotes them all in Python.
    """
    if not rows:
        return
    meta = rows[0]._meta
    fields = [field for field in meta.concrete_fields if not field.primary_key]
    statement = _statement(meta, [str(field.column) for field in fields], unique, changing)
    with _cursor() as cursor:
        for first in range(0, len(rows), BATCH):
            cursor.executemany(statement, [_values(fields, row) for row in rows[first : first + BATCH]])


def _values(fields: Iterable[Any], row: Model) -> list[Any]:
    return [field.get_db_prep_save(field.pre_save(row, True), connection) for field in fields]


def _statement(meta: Any, columns: Sequence[str], unique: Collection[str], changing: Collection[str]) -> str:
    name = connection.ops.quote_name
    names, marks = ", ".join(map(name, columns)), ", ".join(["%s"] * len(columns))
    same = ", ".join(name(meta.get_field(field).column) for field in unique)
    taken = ", ".join(f"{(own := name(meta.get_field(field).column))} = excluded.{own}" for field in changing)
    return (
        f"INSERT INTO {name(meta.db_table)} ({names}) VALUES ({marks}) "  # noqa: S608 - names of models, no values
        f"ON CONFLICT ({same}) DO UPDATE SET {taken}"
    )


def _cursor() -> Any:
    """On PostgreSQL one that sends values beside the statement."""
    if connection.vendor != "postgresql":
        return connection.cursor()
    from django.db.backends.postgresql.base import ServerBindingCursor  # cannot be imported without a driver

    connection.ensure_connection()
    made: Any = ServerBindingCursor  # its stubs know no psycopg arguments
    cursor = made(connection.connection)
    return connection.make_debug_cursor(cursor) if connection.queries_logged else connection.make_cursor(cursor)
