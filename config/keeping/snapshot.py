"""The database as it is at one moment, whoever writes meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import DEFAULT_DB_ALIAS, connections, transaction

ALIAS = "snapshot"


@contextmanager
def snapshot(source: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Alias of a connection of its own, on which every query sees the database as it was when the block began.

    Nobody waits for it: PostgreSQL reads a snapshot (REPEATABLE READ, READ ONLY), SQLite the end of the log as it was.
    """
    own = connections[source].copy(ALIAS)
    is_file = own.vendor == "sqlite"
    if is_file:
        own.settings_dict["OPTIONS"]["transaction_mode"] = "DEFERRED"  # IMMEDIATE would keep writers out
    connections[ALIAS] = own
    try:
        with transaction.atomic(using=ALIAS):
            with own.cursor() as cursor:
                if not is_file:
                    cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
                cursor.execute("SELECT COUNT(*) FROM django_migrations")  # the first look makes the snapshot
            yield ALIAS
    finally:
        own.close()
        del connections[ALIAS]
