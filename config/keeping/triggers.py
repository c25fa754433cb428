"""What the database does by itself when rows come and go is put aside while all rows of a backup come at once: what a
row refers to may come after it. It stands again before the transaction ends."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db.backends.base.base import BaseDatabaseWrapper

OF_POSTGRESQL = (
    "SELECT DISTINCT c.relname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
    "WHERE NOT t.tgisinternal AND t.tgenabled <> 'D' AND pg_table_is_visible(c.oid) ORDER BY 1"
)
OF_SQLITE = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY rowid"


@contextmanager
def triggers_put_aside(connection: BaseDatabaseWrapper) -> Iterator[None]:
    """Within a transaction; where that is undone, so is this."""
    if connection.vendor == "sqlite":
        yield from _dropped(connection)
    else:
        yield from _disabled(connection)


def _dropped(connection: BaseDatabaseWrapper) -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute(OF_SQLITE)
        triggers = cursor.fetchall()
        for name, _ in triggers:
            cursor.execute(f"DROP TRIGGER {connection.ops.quote_name(name)}")
    yield
    with connection.cursor() as cursor:
        for _, sql in triggers:
            cursor.execute(sql)


def _disabled(connection: BaseDatabaseWrapper) -> Iterator[None]:
    with connection.cursor() as cursor:
        cursor.execute(OF_POSTGRESQL)
        tables = [connection.ops.quote_name(table) for (table,) in cursor.fetchall()]
        for table in tables:
            cursor.execute(f"ALTER TABLE {table} DISABLE TRIGGER USER")
    yield
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")  # with checks still to come no table can be altered
        for table in tables:
            cursor.execute(f"ALTER TABLE {table} ENABLE TRIGGER USER")
