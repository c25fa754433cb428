"""Putting the guards into the database and taking them out: whenever it is migrated, and for nobody else.

Not in migrations: a table that SQLite makes anew loses its triggers, and one that others name in theirs cannot even be
renamed. So all are lifted before the first step of a migration, and what is missing is made after the last one.
"""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

from django.apps.registry import Apps
from django.db import DEFAULT_DB_ALIAS, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper

from campaigns import access
from campaigns.guards.rules import Guard, all_guards
from campaigns.guards.sql import PREFIX, statements, trigger_of

STANDING = {
    # Those that PostgreSQL has handed down to parts of a table have a parent.
    "postgresql": "SELECT c.relname, t.tgname FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid "
    "WHERE NOT t.tgisinternal AND t.tgparentid = 0 AND t.tgenabled <> 'D' "
    "AND pg_table_is_visible(c.oid) AND starts_with(t.tgname, %s)",
    "sqlite": "SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger' AND substr(name, 1, length(%s)) = %s",
}
PARTS = (
    "SELECT p.relname, c.relname FROM pg_inherits i JOIN pg_class p ON p.oid = i.inhparent "
    "JOIN pg_class c ON c.oid = i.inhrelid WHERE p.relkind = 'p' AND pg_table_is_visible(p.oid) ORDER BY 1, 2"
)
#: Made by an early migration on SQLite; a guard says the same now.
FORMER = ("deployment_one_place_insert", "deployment_one_place_update")


def wanted(connection: BaseDatabaseWrapper) -> dict[str, Guard]:
    """By the name of the trigger, what this database should have."""
    vendor = connection.vendor
    return {trigger_of(guard, vendor): guard for guard in all_guards() if guard.vendor in ("", vendor)}


def standing(connection: BaseDatabaseWrapper) -> set[tuple[str, str]]:
    """(table, trigger) of all guards that the database has; one that is switched off is none."""
    with connection.cursor() as cursor:
        marks = (PREFIX, PREFIX) if connection.vendor == "sqlite" else (PREFIX,)
        cursor.execute(STANDING[connection.vendor], marks)
        return {(str(table), str(name)) for table, name in cursor.fetchall()}


def has_tables(connection: BaseDatabaseWrapper) -> bool:
    """Whether the database was migrated at all, so that guards should stand."""
    return {guard.table for guard in all_guards()} <= set(connection.introspection.table_names())


def missing(connection: BaseDatabaseWrapper) -> list[str]:
    """Names of guards that the database should have and has not, or not on all parts of their table."""
    wants = wanted(connection)
    return sorted(wants[trigger].name for trigger in _wanting(wants, standing(connection), _parts(connection)))


def install(connection: BaseDatabaseWrapper) -> None:
    """Make what is missing and drop what is of an earlier version, all or nothing. Quick where nothing is."""
    there, wants, parts = standing(connection), wanted(connection), _parts(connection)
    names = {name for _, name in there}
    new, old = _wanting(wants, there, parts), names - wants.keys()
    if not new and not old:
        return
    with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
        _drop(connection, cursor, old | new)
        for trigger in sorted(new):
            for sql in statements(wants[trigger], connection.vendor, parts.get(wants[trigger].table, ())):
                cursor.execute(sql)
        if connection.vendor == "sqlite":
            for trigger in FORMER:
                cursor.execute(f"DROP TRIGGER IF EXISTS {trigger}")


def lift(connection: BaseDatabaseWrapper, events: Collection[str] = (), tables: Collection[str] = ()) -> None:
    """Drop all guards, or those of some events or tables: before tables are altered, and for tests."""
    wants = wanted(connection)
    gone = {
        name
        for table, name in standing(connection)
        if (not events or (name in wants and wants[name].event in events)) and (not tables or table in tables)
    }
    if gone:
        with transaction.atomic(using=connection.alias), connection.cursor() as cursor:
            _drop(connection, cursor, gone)


def _wanting(wants: dict[str, Guard], there: set[tuple[str, str]], parts: dict[str, list[str]]) -> set[str]:
    return {
        trigger
        for trigger, guard in wants.items()
        for table in (guard.table, *(parts.get(guard.table, ()) if guard.of_statements else ()))
        if (table, trigger) not in there
    }


def _drop(connection: BaseDatabaseWrapper, cursor: Any, triggers: Collection[str]) -> None:
    for trigger in sorted(triggers):
        if connection.vendor == "postgresql":
            cursor.execute(f"DROP FUNCTION IF EXISTS {trigger}() CASCADE")  # with its triggers
        else:
            cursor.execute(f"DROP TRIGGER IF EXISTS {trigger}")


def _parts(connection: BaseDatabaseWrapper) -> dict[str, list[str]]:
    """By partitioned table, the tables that hold its rows."""
    found: dict[str, list[str]] = {}
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(PARTS)
            for table, part in cursor.fetchall():
                found.setdefault(table, []).append(part)
    return found


# --- when a database is migrated --------------------------------------------------------------------------------------


def before_migration(plan: Collection[Any] = (), using: str = DEFAULT_DB_ALIAS, **_: Any) -> None:
    if plan:
        lift(connections[using])


def after_migration(apps: Apps | None = None, using: str = DEFAULT_DB_ALIAS, **_: Any) -> None:
    """``apps``: the models as the migrations that were applied leave them. A database that is on its way, one step or
    back, gets its guards when it has arrived."""
    if apps is None or _arrived(apps):
        install(connections[using])


def _arrived(apps: Apps) -> bool:
    for model in access.registered():
        try:
            applied = apps.get_model(model._meta.app_label, model.__name__)
        except LookupError:
            return False
        if {field.column for field in model._meta.fields} - {field.column for field in applied._meta.fields}:
            return False
    return True
