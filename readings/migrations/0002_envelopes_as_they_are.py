"""PostgreSQL keeps the parts of envelopes as they are: pressing them costs as much as writing them."""

from __future__ import annotations

from typing import Any

from django.db import migrations


def store_as_they_are(apps: Any, schema_editor: Any) -> None:
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute("ALTER TABLE readings_envelope ALTER COLUMN parts SET STORAGE EXTERNAL")


class Migration(migrations.Migration):
    dependencies = [("readings", "0001_initial")]

    operations = [migrations.RunPython(store_as_they_are, migrations.RunPython.noop)]
