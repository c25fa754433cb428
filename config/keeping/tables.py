"""All tables of one database, out to files and in from them, and the digests of what they say."""

from __future__ import annotations

import gzip
import hashlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

from config.keeping.manifest import BackupRefused, KeptTable
from config.keeping.rows import readers, same_everywhere, text_of, values_in
from config.keeping.sequences import last_ids

#: Whoever is logged in logs in again; which migrations ran stands in the manifest.
LEFT_OUT = frozenset({"django_session", "django_migrations"})
ROWS = 2_000  # that travel together
Model = type[models.Model]


def kept_models(apps: Apps) -> dict[str, Model]:
    """By table, every model whose rows are kept, those between two others included; in order of their names."""
    found = {model._meta.db_table: model for model in apps.get_models(include_auto_created=True)}
    return {
        table: model
        for table, model in sorted(found.items())
        if table not in LEFT_OUT and not model._meta.proxy and not model._meta.swapped
    }


def columns_of(model: Model) -> list[models.Field[Any, Any]]:
    """In order of their names: that in which a model lists them depends on which migrations it went through."""
    fields = [field for field in model._meta.concrete_fields if not getattr(field, "generated", False)]
    return sorted(fields, key=lambda field: str(field.column))


@dataclass(slots=True)
class Told:
    """What rows say: how many, and the digest over all."""

    rows: int
    digest: str


def lines_of(model: Model, alias: str) -> Iterator[str]:
    """Every row as text, in the order of the key."""
    names = [field.attname for field in columns_of(model)]
    rows = model._base_manager.using(alias).order_by("pk").values_list(*names)
    yield from map(text_of, rows.iterator(chunk_size=ROWS))


def told_by(lines: Iterable[str], keep: Callable[[bytes], object] = lambda _: None) -> Told:
    """``keep`` gets the lines as bytes on their way."""
    count, digest = 0, hashlib.sha256()
    iterator = iter(lines)
    while some := list(islice(iterator, ROWS)):
        count += len(some)
        digest.update("".join(f"{same_everywhere(line)}\n" for line in some).encode())
        keep("".join(f"{line}\n" for line in some).encode())
    return Told(count, digest.hexdigest())


def dump(apps: Apps, alias: str, folder: Path, within: str) -> Iterator[KeptTable]:
    """Write every table to a file in ``folder / within``."""
    last = last_ids(connections[alias])
    for table, model in kept_models(apps).items():
        file = f"{within}/{table}.jsonl.gz"
        with gzip.open(folder / file, "wb", compresslevel=5) as kept:
            told = told_by(lines_of(model, alias), kept.write)
        with (folder / file).open("rb") as kept_file:
            sha256 = hashlib.file_digest(kept_file, "sha256").hexdigest()
        columns = tuple(str(field.column) for field in columns_of(model))
        yield KeptTable(table, columns, told.rows, told.digest, last.get(table), file, sha256)


def load(table: KeptTable, model: Model, connection: BaseDatabaseWrapper, folder: Path) -> None:
    """Insert every row of the file. Raises BackupRefused where the file or the table is another."""
    by_column = {field.column: field for field in columns_of(model)}
    if set(by_column) != set(table.columns):
        raise BackupRefused(f"Table {table.name} has other columns than in the backup.")
    fields = [by_column[column] for column in table.columns]
    changes = readers(fields, connection)

    def rows() -> Iterator[list[Any]]:
        with gzip.open(folder / table.file, "rt", encoding="utf-8", newline="\n") as lines:
            for line in lines:
                row = values_in(line)
                for k, read in changes:
                    row[k] = read(row[k])
                yield row

    if table.rows:
        _insert(table, connection, rows())


def _insert(table: KeptTable, connection: BaseDatabaseWrapper, rows: Iterator[list[Any]]) -> None:
    quoted = connection.ops.quote_name
    columns = ", ".join(map(quoted, table.columns))
    with connection.wrap_database_errors, connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {quoted(table.name)} ({columns}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            return
        marks = ", ".join(["%s"] * len(table.columns))
        insert = f"INSERT INTO {quoted(table.name)} ({columns}) VALUES ({marks})"  # noqa: S608
        while some := list(islice(rows, ROWS)):
            cursor.executemany(insert, some)


def differing(apps: Apps, alias: str, kept: Sequence[KeptTable]) -> list[str]:
    """Tables whose rows are not those of the backup, in words."""
    there = kept_models(apps)
    found = []
    for table in kept:
        told = told_by(lines_of(there[table.name], alias))
        if (told.rows, told.digest) != (table.rows, table.digest):
            found.append(f"{table.name}: {told.rows:,} rows of {table.rows:,}, or others than in the backup")
    return found
