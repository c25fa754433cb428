"""What a backup says of itself: written last, whole, and proved before anything of it is believed."""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

FORMAT = 1
NAME = "manifest.json"


class BackupRefused(Exception):
    """There is no whole backup here, or it does not belong into this installation. Its text is for the operator."""


@dataclass(frozen=True, slots=True)
class KeptTable:
    """A table. ``rows``: how many; ``digest``: SHA-256 over what they say, the same on every database; ``last_id``: the
    highest number given to a row, also to one that is gone; ``file``: where, with ``sha256`` of its bytes."""

    name: str
    columns: tuple[str, ...]
    rows: int
    digest: str
    last_id: int | None
    file: str
    sha256: str


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file of the storage, by its name there; kept by its digest."""

    name: str
    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Damaged:
    """A file that was not as its row says when the backup was made. ``found``: digest of its bytes; "": it was gone."""

    name: str
    said: str
    found: str


@dataclass(frozen=True, slots=True)
class Manifest:
    made_at: str
    version: str
    migrations: tuple[tuple[str, str], ...]
    tables: tuple[KeptTable, ...]
    files: tuple[KeptFile, ...]
    damaged: tuple[Damaged, ...]
    format: int = FORMAT

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables)


def kept_at(folder: Path, sha256: str) -> Path:
    """Where a backup keeps the bytes with this digest."""
    return folder / "files" / sha256[:2] / sha256


def write(folder: Path, manifest: Manifest) -> None:
    """In one step: either the former manifest stands, or this one."""
    said = asdict(manifest)
    text = json.dumps(said | {"digest": _digest(said)}, indent=1, ensure_ascii=False)
    part = folder / f".{NAME}.part"
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(folder / NAME)


def read(folder: Path) -> Manifest:
    """Raises BackupRefused where there is none, where it was altered, or where a later Fanlight wrote it."""
    try:
        said: dict[str, Any] = json.loads((folder / NAME).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise BackupRefused(
            f"There is no {NAME} in {folder}: the backup was not finished, or this is none. Run backup again; it goes "
            "on where it was."
        ) from None
    except ValueError:
        raise BackupRefused(f"{NAME} in {folder} is damaged: it is no JSON.") from None
    if said.get("format") != FORMAT:
        raise BackupRefused(f"{NAME} has format {said.get('format')!r}; this Fanlight reads format {FORMAT}.")
    if said.pop("digest", "") != _digest(said):
        raise BackupRefused(f"{NAME} in {folder} was altered: its digest is another.")
    return Manifest(
        made_at=said["made_at"],
        version=said["version"],
        migrations=tuple((app, name) for app, name in said["migrations"]),
        tables=tuple(KeptTable(**table | {"columns": tuple(table["columns"])}) for table in said["tables"]),
        files=tuple(KeptFile(**file) for file in said["files"]),
        damaged=tuple(Damaged(**file) for file in said["damaged"]),
    )


def _digest(said: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()
