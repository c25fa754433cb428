"""A backup into an empty installation, of either database, and proof that it is there as it was kept."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.apps.registry import Apps
from django.core.files.storage import Storage, default_storage
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connection, transaction
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from config.keeping import manifest
from config.keeping.files import is_kept, put
from config.keeping.manifest import BackupRefused, Manifest
from config.keeping.sequences import go_on_from
from config.keeping.tables import differing, kept_models, load
from config.keeping.triggers import triggers_put_aside

Say = Callable[[str], object]
#: An installation is empty while nobody is in it.
OF_PEOPLE = ("campaigns_organisation", "campaigns_user")
WORN = ("django_session",)


@dataclass(frozen=True, slots=True)
class Restored:
    """What a run did. ``written``: files that were not in the storage yet."""

    manifest: Manifest
    written: int


def restore(
    folder: Path, say: Say = lambda _: None, storage: Storage = default_storage, *, over: bool = False
) -> Restored:
    """Everything of the backup into this installation, which gets the migrations that came since afterwards.

    The database is filled in one transaction, and only stays so if every table says what was kept. ``over``: what is
    there goes. Raises BackupRefused, with nothing but files written.
    """
    kept = manifest.read(folder)
    prove_whole(folder, kept)
    say(f"The backup of {kept.made_at} is whole: {kept.rows:,} rows, {len(kept.files):,} files.")
    apps = _tables_of(kept, over=over)
    written = sum(put(storage, file, folder, over=over) for file in kept.files)
    say(f"{len(kept.files):,} files are in the storage, {written:,} of them written now.")
    _fill(folder, kept, apps)
    say("Every table says what was kept.")
    call_command("migrate", interactive=False, verbosity=0)  # what came since, and whatever guards the tables
    return Restored(kept, written)


def prove_whole(folder: Path, kept: Manifest) -> None:
    """Raises BackupRefused unless all that the manifest names is there, byte for byte."""
    for table in kept.tables:
        try:
            with (folder / table.file).open("rb") as file:
                found = hashlib.file_digest(file, "sha256").hexdigest()
        except FileNotFoundError:
            raise BackupRefused(f"The backup is not whole: {table.file} is not there.") from None
        if found != table.sha256:
            raise BackupRefused(f"The backup is damaged: {table.file} is not what was written.")
    for kept_file in kept.files:
        if not is_kept(folder, kept_file.sha256):
            raise BackupRefused(f"The backup is damaged: the bytes of {kept_file.name} are gone, or others.")


def _tables_of(kept: Manifest, *, over: bool) -> Apps:
    """See to it that the database has the tables of the backup, and is empty; the models as they were then."""
    loader = MigrationLoader(connection)
    steps = sorted(step for step in kept.migrations if step in loader.disk_migrations or step in loader.graph.nodes)
    if len(steps) < len(kept.migrations):
        raise BackupRefused("A later Fanlight made this backup: it has migrations that this one does not know.")
    here = set(loader.applied_migrations)
    if not here:
        MigrationExecutor(connection).migrate(_last_of(steps, loader))
    elif here != set(steps):
        raise BackupRefused(
            "The database has other migrations than the backup. Give an empty database: it gets those of the backup, "
            "and then the ones that came since."
        )
    apps: Apps = loader.project_state(steps).apps
    if not over and any(_count(table) for table in OF_PEOPLE):
        raise BackupRefused("This installation is not empty. Give an empty database, or say --over: all in it goes.")
    missing = {table.name for table in kept.tables} - kept_models(apps).keys()
    if missing:
        raise BackupRefused(f"This Fanlight has no table {', '.join(sorted(missing))}.")
    return apps


def _last_of(steps: list[tuple[str, str]], loader: MigrationLoader) -> list[tuple[str, str]]:
    """Those that no other of the same app stands on."""
    behind: set[Any] = {
        parent.key for step in steps for parent in loader.graph.node_map[step].parents if parent.key[0] == step[0]
    }
    return [step for step in steps if step not in behind]


def _fill(folder: Path, kept: Manifest, apps: Apps) -> None:
    models = kept_models(apps)
    with connection.constraint_checks_disabled(), transaction.atomic(), triggers_put_aside(connection):
        _empty([*models, *WORN])
        for table in kept.tables:
            load(table, models[table.name], connection, folder)
        go_on_from(connection, {table.name: table.last_id for table in kept.tables if table.last_id})
        connection.check_constraints()
        if found := differing(apps, DEFAULT_DB_ALIAS, kept.tables):
            raise BackupRefused("The database does not say what was kept: " + "; ".join(found))


def _empty(tables: list[str]) -> None:
    quoted = [connection.ops.quote_name(table) for table in tables]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(f"TRUNCATE {', '.join(quoted)}")
            return
        for table in quoted:
            cursor.execute(f"DELETE FROM {table}")  # noqa: S608


def _count(table: str) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {connection.ops.quote_name(table)}")  # noqa: S608
        return int(cursor.fetchone()[0])
