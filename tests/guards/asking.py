"""SQL past all models, and what the database says to it."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction


def sql(statement: str, *values: Any) -> int:
    """Done in a savepoint. How many rows it was about."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement, values)
        return int(cursor.rowcount)


def refused(name: str, statement: str, *values: Any) -> None:
    """The database does not do it, and says which guard or constraint it is; ``name``: a part of it."""
    with pytest.raises(IntegrityError, match=name):
        sql(statement, *values)


def value(statement: str, *values: Any) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
        found = cursor.fetchone()
        return found[0] if found else None
