"""The highest number that a row of each table was given, so that no later row gets the number of one that is gone."""

from __future__ import annotations

from collections.abc import Mapping

from django.db.backends.base.base import BaseDatabaseWrapper

#: Serial and identity columns with their sequences, in the schema that tables are looked for in.
SEQUENCES = (
    "SELECT t.relname, quote_ident(n.nspname) || '.' || quote_ident(s.relname) FROM pg_class s "
    "JOIN pg_namespace n ON n.oid = s.relnamespace "
    "JOIN pg_depend d ON d.objid = s.oid AND d.classid = 'pg_class'::regclass AND d.deptype IN ('a', 'i') "
    "JOIN pg_class t ON t.oid = d.refobjid WHERE s.relkind = 'S' AND pg_table_is_visible(t.oid) ORDER BY 1"
)


def last_ids(connection: BaseDatabaseWrapper) -> dict[str, int]:
    """By table; one that never had a row has none."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name, seq FROM sqlite_sequence")
            return {str(table): int(last) for table, last in cursor.fetchall() if last}
        cursor.execute(SEQUENCES)
        found = {}
        for table, sequence in cursor.fetchall():
            cursor.execute(f"SELECT last_value, is_called FROM {sequence}")  # noqa: S608
            last, is_called = cursor.fetchone()
            if is_called:
                found[str(table)] = int(last)
        return found


def go_on_from(connection: BaseDatabaseWrapper, last: Mapping[str, int]) -> None:
    """The next row of each table gets a number above its last one."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            for table, number in last.items():
                cursor.execute("DELETE FROM sqlite_sequence WHERE name = %s", [table])
                cursor.execute("INSERT INTO sqlite_sequence (name, seq) VALUES (%s, %s)", [table, number])
            return
        cursor.execute(SEQUENCES)
        for table, sequence in cursor.fetchall():
            if table in last:
                cursor.execute("SELECT setval(%s::regclass, %s)", [sequence, last[table]])
