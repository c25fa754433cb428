"""An instrument is at one place at a time: kept by the database itself, whoever writes at the same moment."""

from django.db import migrations

EXCLUDE = """
CREATE EXTENSION IF NOT EXISTS btree_gist;
ALTER TABLE campaigns_deployment ADD CONSTRAINT deployment_one_place
    EXCLUDE USING gist (instrument_id WITH =, tstzrange(starts_at, ends_at, '[)') WITH &&);
"""
UNEXCLUDE = "ALTER TABLE campaigns_deployment DROP CONSTRAINT deployment_one_place;"

# Django stores times in SQLite as text, 'YYYY-MM-DD hh:mm:ss' with '.ffffff' only where there are microseconds, so two
# texts compare as the times do, except that a time without fraction sorts before the same second with one - as it should.
TRIGGER = """
CREATE TRIGGER deployment_one_place_{event} BEFORE {event} ON campaigns_deployment
WHEN EXISTS (
    SELECT 1 FROM campaigns_deployment other
    WHERE other.instrument_id = NEW.instrument_id AND other.id IS NOT NEW.id
      AND (other.ends_at IS NULL OR other.ends_at > NEW.starts_at)
      AND (NEW.ends_at IS NULL OR other.starts_at < NEW.ends_at)
)
BEGIN SELECT RAISE(ABORT, 'deployment_one_place'); END
"""


def keep_one_place(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(EXCLUDE)
    else:
        for event in ("insert", "update"):
            schema_editor.execute(TRIGGER.format(event=event))


def release_one_place(apps, schema_editor):
    if schema_editor.connection.vendor == "postgresql":
        schema_editor.execute(UNEXCLUDE)
    else:
        for event in ("insert", "update"):
            schema_editor.execute(f"DROP TRIGGER IF EXISTS deployment_one_place_{event}")


class Migration(migrations.Migration):
    dependencies = [("campaigns", "0001_initial")]

    operations = [migrations.RunPython(keep_one_place, release_one_place)]
