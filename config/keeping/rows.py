"""Rows as text that says the same whichever database they came from, and back.

A row is a JSON array of its columns: numbers, texts, truth and null as they are, moments in UTC, days, UUIDs and
decimals as text, bytes in base64, JSON as it is with its names in order.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.utils.duration import duration_string

Read = Callable[[Any], Any]
#: Columns whose values both databases take as they are.
PLAIN = (models.IntegerField, models.AutoField, models.FloatField, models.CharField, models.TextField,
         models.BooleanField, models.FileField)  # fmt: skip
#: Numbers inside JSON that PostgreSQL hands back in another way: −0.0 as 0.0, 1e+16 as a whole number.
UNSIGNED_ZERO, EXPONENT = re.compile(r"-0\.0(?=[,\]}])"), re.compile(r"-?\d+(?:\.\d+)?e\+\d+(?=[,\]}])")


def text_of(row: Sequence[Any]) -> str:
    """One line, without its end."""
    return _JSON.encode(row)


def values_in(line: str) -> list[Any]:
    """What ``text_of`` said. Raises ValueError for what is no row."""
    row = json.loads(line)
    if not isinstance(row, list):
        raise ValueError("a row is an array")
    return row


def same_everywhere(line: str) -> str:
    """The line as its digest takes it: the same for a row of SQLite and of PostgreSQL."""
    if "-0.0" not in line and "e+" not in line:
        return line
    return EXPONENT.sub(lambda found: str(int(float(found[0]))), UNSIGNED_ZERO.sub("0.0", line))


def readers(fields: Sequence[models.Field[Any, Any]], connection: BaseDatabaseWrapper) -> list[tuple[int, Read]]:
    """(column, what makes of a value in a row the one that the driver takes), for columns that need it."""
    return [(k, _reader(field, connection)) for k, field in enumerate(fields) if not isinstance(_kind(field), PLAIN)]


def _kind(field: models.Field[Any, Any]) -> models.Field[Any, Any]:
    """Of a reference, the key it holds."""
    while isinstance(field, models.ForeignKey):
        field = field.target_field
    return field


def _reader(field: models.Field[Any, Any], connection: BaseDatabaseWrapper) -> Read:
    kind = _kind(field)

    def read(value: Any) -> Any:
        if value is None:  # of a column that holds no NULL it is the null of JSON
            return None if field.null else kind.get_db_prep_value(None, connection)
        return kind.get_db_prep_save(kind.to_python(value), connection)

    return read


def _said(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat() if value.tzinfo else value.isoformat()
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, UUID):
        return value.hex
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, timedelta):
        return duration_string(value)
    if isinstance(value, bytes | bytearray | memoryview):
        return base64.b64encode(bytes(value)).decode("ascii")
    raise TypeError(f"{type(value).__name__} has no way into a backup")


_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, default=_said)
