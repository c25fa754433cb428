"""Many derived rows written at once: those that are there already, by their unique columns, are changed."""

from __future__ import annotations

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cached_property
from typing import Any

from django.db import connection
from django.db.models import CharField, Field, FloatField, ForeignKey, JSONField, Model, TextField
from django.utils import timezone

#: Rows of a few kilobytes that the driver is handed at a time.
BATCH = 500

_JSON = json.JSONEncoder(default=str, ensure_ascii=False)

#: One row as the database takes it: JSON on PostgreSQL, else the values in the order of the columns.
Row = str | list[Any]


class Upsert:
    """Of one model: ``row`` makes a row ready, in whichever process; ``write`` inserts rows, and where ``unique`` names
    one that is there, takes over the fields ``changing``.

    PostgreSQL gets each batch as one JSON text and takes it apart itself: handing it value after value costs more in
    the driver than the writing. SQLite is handed values, which there is a call of a function.
    """

    def __init__(self, model: type[Model], *, unique: Collection[str], changing: Collection[str]) -> None:
        self.model, self.unique, self.changing = model, unique, changing

    def row(self, values: Mapping[str, Any]) -> Row:
        """``values`` by attribute (``zone_id``, not ``zone``); what is not among them has its default."""
        if self._in_json:
            return _JSON.encode({c: values[c] if c in values else otherwise() for c, _, otherwise in self._columns})
        return [ready(values[c] if c in values else otherwise()) for c, ready, otherwise in self._columns]

    def write(self, rows: Sequence[Row]) -> None:
        with _cursor() as cursor:
            for first in range(0, len(rows), BATCH):
                batch = rows[first : first + BATCH]
                if self._in_json:
                    cursor.execute(self._from_json, [f"[{','.join(map(str, batch))}]"])
                else:
                    cursor.executemany(self._from_values, batch)

    @cached_property
    def _in_json(self) -> bool:
        return connection.vendor == "postgresql"

    @cached_property
    def _columns(self) -> list[tuple[str, Callable[[Any], Any], Callable[[], Any]]]:
        """Name, how a value is made ready, and what stands where there is none; columns are called like attributes."""
        fields: list[Any] = [field for field in self.model._meta.concrete_fields if not field.primary_key]
        return [(field.column, _ready(field), _default(field)) for field in fields]

    @cached_property
    def _names(self) -> str:
        return ", ".join(connection.ops.quote_name(column) for column, *_ in self._columns)

    @property
    def _from_json(self) -> str:
        table = connection.ops.quote_name(self.model._meta.db_table)
        return self._statement(f"SELECT {self._names} FROM json_populate_recordset(NULL::{table}, %s)")  # noqa: S608

    @property
    def _from_values(self) -> str:
        return self._statement(f"VALUES ({', '.join(['%s'] * len(self._columns))})")

    def _statement(self, rows: str) -> str:
        name, meta = connection.ops.quote_name, self.model._meta
        same = ", ".join(name(_column(meta, field)) for field in self.unique)
        taken = ", ".join(f"{(own := name(_column(meta, field)))} = excluded.{own}" for field in self.changing)
        return f"INSERT INTO {name(meta.db_table)} ({self._names}) {rows} ON CONFLICT ({same}) DO UPDATE SET {taken}"


def _column(meta: Any, field: str) -> str:
    return str(meta.get_field(field).column)


def _ready(field: Field[Any, Any]) -> Callable[[Any], Any]:
    """What SQLite takes for a value; most values are that already. PostgreSQL reads all of them in JSON."""
    if isinstance(field, FloatField | CharField | TextField | ForeignKey):
        return _as_it_is
    if isinstance(field, JSONField):
        return json.dumps
    return lambda value: field.get_db_prep_save(value, connection)


def _as_it_is(value: Any) -> Any:
    return value


def _cursor() -> Any:
    """On PostgreSQL one that sends values beside the statement."""
    if connection.vendor != "postgresql":
        return connection.cursor()
    from django.db.backends.postgresql.base import ServerBindingCursor  # cannot be imported without a driver

    connection.ensure_connection()
    made: Any = ServerBindingCursor  # its stubs know no psycopg arguments
    cursor = made(connection.connection)
    return connection.make_debug_cursor(cursor) if connection.queries_logged else connection.make_cursor(cursor)


def _default(field: Any) -> Callable[[], Any]:
    """Times of making are set when a row is saved, which these never are."""
    return timezone.now if getattr(field, "auto_now_add", False) else field.get_default
