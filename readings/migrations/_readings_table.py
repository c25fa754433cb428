"""The table of readings, as each database keeps it best: imported by the first migration."""

from __future__ import annotations

from typing import Any

PARTITIONS = 8  # by channel: each campaign's instruments write to different tables and indexes

COLUMNS = """
    channel_id bigint NOT NULL,
    stamp bigint NOT NULL,
    nth smallint NOT NULL,
    raw double precision NULL,
    flag smallint NOT NULL,
    upload_id bigint NOT NULL,
    line integer NOT NULL,
    CONSTRAINT readings_reading_key PRIMARY KEY (channel_id, stamp, nth)
"""


def create_readings(apps: Any, schema_editor: Any) -> None:
    if schema_editor.connection.vendor != "postgresql":
        # The key is the table: no second tree to keep in step.
        schema_editor.execute(f"CREATE TABLE readings_reading ({COLUMNS}) WITHOUT ROWID")
        return
    schema_editor.execute(f"CREATE TABLE readings_reading ({COLUMNS}) PARTITION BY HASH (channel_id)")
    for part in range(PARTITIONS):
        schema_editor.execute(
            f"CREATE TABLE readings_reading_{part} PARTITION OF readings_reading "
            f"FOR VALUES WITH (MODULUS {PARTITIONS}, REMAINDER {part})"
        )


def drop_readings(apps: Any, schema_editor: Any) -> None:
    schema_editor.execute("DROP TABLE readings_reading")
