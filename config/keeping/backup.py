"""Database and files into a folder, as they were at one moment."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from django.apps import apps
from django.core.files.storage import Storage, default_storage
from django.db import connections
from django.db.migrations.recorder import MigrationRecorder

from config.keeping import manifest
from config.keeping.files import drop_unnamed, named_files, take
from config.keeping.manifest import Damaged, KeptFile, Manifest
from config.keeping.snapshot import snapshot
from config.keeping.tables import dump
from config.version import VERSION

Say = Callable[[str], object]
TABLES = "tables-"


@dataclass(frozen=True, slots=True)
class Backed:
    """What a run did. ``copied``: files that were not in the folder yet."""

    manifest: Manifest
    copied: int


def back_up(folder: Path, say: Say = lambda _: None, storage: Storage = default_storage) -> Backed:
    """Everything into ``folder``; a former backup there stands until this one is whole. Files that are there already
    are read and not copied again, so that a run that was killed goes on, and the next one costs what is new."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    made_at = datetime.now(UTC)
    within = f"{TABLES}{made_at:%Y%m%dT%H%M%S}-{uuid4().hex[:6]}"
    (folder / within).mkdir(mode=0o700)
    with snapshot() as alias:
        applied = MigrationRecorder(connections[alias]).applied_migrations()
        tables = tuple(dump(apps, alias, folder, within))
        say(f"{len(tables)} tables, {sum(table.rows for table in tables):,} rows.")
        named = list(named_files(alias))
    # Files are never altered, and only plan images are ever taken away: they can be read when the snapshot is over.
    files, damaged, copied = list[KeptFile](), list[Damaged](), 0
    for each in named:
        kept, wrong, is_new = take(storage, each, folder)
        files += [kept] if kept else []
        damaged += [wrong] if wrong else []
        copied += is_new
    say(f"{len(files):,} files, {copied:,} of them copied now.")
    whole = Manifest(
        made_at=made_at.isoformat(timespec="seconds"),
        version=VERSION,
        migrations=tuple(sorted(applied)),
        tables=tables,
        files=tuple(files),
        damaged=tuple(damaged),
    )
    manifest.write(folder, whole)
    _drop_former(folder, within)
    drop_unnamed(folder, whole.files)
    return Backed(whole, copied)


def _drop_former(folder: Path, within: str) -> None:
    for former in folder.glob(f"{TABLES}*"):
        if former.name != within:
            shutil.rmtree(former)
