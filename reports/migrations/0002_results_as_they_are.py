"""PostgreSQL keeps the rows of results as they are: a little over 2 kB each, they would all be pressed and unpressed."""

from __future__ import annotations

from typing import Any

from django.db import migrations


def as_they_are(apps: Any, schema_editor: Any) -> None:
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE reports_result SET (toast_tuple_target = 8160)")


def as_usual(apps: Any, schema_editor: Any) -> None:
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE reports_result RESET (toast_tuple_target)")


class Migration(migrations.Migration):
    dependencies = [("reports", "0001_initial")]

    operations = [migrations.RunPython(as_they_are, as_usual)]
