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

_JSON = json.JSONEncoder(ensure_ascii=False)
_ABSENT = object()

#: One row as the database takes it: a line of COPY on PostgreSQL, else the values in the order of the columns.
Row = str | list[Any]


class Upsert:
    """Of one model: ``row`` makes a row ready, in whichever process; ``write`` inserts rows, and where ``unique`` names
    one that is there, takes over the fields ``changing``.

    PostgreSQL gets them by COPY into a table of the transaction's own and takes them from there: handing it value after
    value, or JSON to take apart, costs more than the writing. SQLite is handed values, which there is a function call.
    """

    def __init__(
        self,
        model: type[Model],
        *,
        unique: Collection[str],
        changing: Collection[str],
        texts: Mapping[str, Callable[[Any], str]] | None = None,
    ) -> None:
        """``texts``: by field of JSON, how its values become text where they are records."""
        self.model, self.unique, self.changing, self.texts = model, unique, changing, texts or {}

    def row(self, columns: object) -> Row:
        """``columns``: something with attributes called as the columns are (``zone_id``, not ``zone``); a column that
        it has not has its default."""
        own = [
            ready(otherwise() if (value := getattr(columns, name, _ABSENT)) is _ABSENT else value)
            for name, ready, otherwise in self._columns
        ]
        return "\t".join(own) if self._by_copy else own

    def write(self, rows: Sequence[Row]) -> None:
        """In the caller's transaction."""
        if not rows:
            return
        with connection.cursor() as cursor:
            if not self._by_copy:
                cursor.executemany(self._upsert(f"VALUES ({', '.join(['%s'] * len(self._columns))})"), rows)
                return
            staged = connection.ops.quote_name(f"{self.model._meta.db_table}_staged")
            cursor.execute(f"CREATE TEMP TABLE {staged} AS SELECT {self._names} FROM {self._table} WITH NO DATA")  # noqa: S608
            self._copy(cursor, staged, rows)
            cursor.execute(self._upsert(f"SELECT {self._names} FROM {staged}"))  # noqa: S608 - names of models
            cursor.execute(f"DROP TABLE {staged}")

    def add(self, rows: Sequence[Row]) -> None:
        """The same for rows of which the caller knows that none is there, and that nobody else adds one."""
        if not self._by_copy:
            self.write(rows)
        elif rows:
            with connection.cursor() as cursor:
                self._copy(cursor, self._table, rows)

    def _copy(self, cursor: Any, table: str, rows: Sequence[Row]) -> None:
        # COPY is the driver's own: without this its errors would not be Django's.
        with connection.wrap_database_errors, cursor.copy(f"COPY {table} ({self._names}) FROM STDIN") as copy:
            for first in range(0, len(rows), BATCH):
                copy.write("".join(f"{row}\n" for row in rows[first : first + BATCH]))

    @cached_property
    def _by_copy(self) -> bool:
        return connection.vendor == "postgresql"

    @cached_property
    def _columns(self) -> list[tuple[str, Callable[[Any], Any], Callable[[], Any]]]:
        """Name, how a value is made ready, and what stands where there is none; columns are called like attributes."""
        fields: list[Any] = [field for field in self.model._meta.concrete_fields if not field.primary_key]
        return [
            (field.column, _ready(field, self.texts.get(field.name, _JSON.encode)), _default(field)) for field in fields
        ]

    @property
    def _table(self) -> str:
        return connection.ops.quote_name(self.model._meta.db_table)

    @cached_property
    def _names(self) -> str:
        return ", ".join(connection.ops.quote_name(column) for column, *_ in self._columns)

    def _upsert(self, rows: str) -> str:
        name, meta = connection.ops.quote_name, self.model._meta
        same = ", ".join(name(_column(meta, field)) for field in self.unique)
        taken = ", ".join(f"{(own := name(_column(meta, field)))} = excluded.{own}" for field in self.changing)
        return f"INSERT INTO {self._table} ({self._names}) {rows} ON CONFLICT ({same}) DO UPDATE SET {taken}"


def _column(meta: Any, field: str) -> str:
    return str(meta.get_field(field).column)


def _ready(field: Field[Any, Any], text: Callable[[Any], str]) -> Callable[[Any], Any]:
    """What the database takes for a value: text in a line of COPY, else mostly the value itself; ``text`` of JSON."""
    is_json = isinstance(field, JSONField)
    if connection.vendor == "postgresql":
        if is_json:
            return lambda value: _json_in_line(text(value))
        return _in_line if isinstance(field, CharField | TextField) else _other_in_line
    if isinstance(field, FloatField | CharField | TextField | ForeignKey):
        return _as_it_is
    return text if is_json else lambda value: field.get_db_prep_save(value, connection)


#: What COPY reads as something else in its text.
_ESCAPED = str.maketrans({"\\": "\\\\", "\t": "\\t", "\n": "\\n", "\r": "\\r"})


def _in_line(value: Any) -> str:
    if value is None:
        return r"\N"
    return value.translate(_ESCAPED) if isinstance(value, str) else str(value)


def _other_in_line(value: Any) -> str:
    """Numbers, keys and times, none of which has anything to escape."""
    return r"\N" if value is None else str(value)


def _json_in_line(text: str) -> str:
    return text.replace("\\", "\\\\")  # it has no other of these


def _as_it_is(value: Any) -> Any:
    return value


def _default(field: Any) -> Callable[[], Any]:
    """Times of making are set when a row is saved, which these never are."""
    return timezone.now if getattr(field, "auto_now_add", False) else field.get_default
