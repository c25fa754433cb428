"""Files that rows name: originals, plan images, PDFs; what each should be, and getting it out and in."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

from django.apps import apps
from django.core.files import File
from django.core.files.storage import Storage

from campaigns.services.digests import sha256_of
from config.keeping.manifest import BackupRefused, Damaged, KeptFile, kept_at

#: Of every field that names a file, the one with the digest of its bytes.
DIGESTS = {
    ("readings.Upload", "original"): "sha256",
    ("campaigns.FloorPlan", "image"): "sha256",
    ("reports.Report", "pdf"): "pdf_sha256",
}
PIECE = 1 << 20


@dataclass(frozen=True, slots=True, order=True)
class NamedFile:
    """A file by its name in the storage. ``sha256``: what its row says; "" where it says nothing."""

    name: str
    sha256: str


def named_files(alias: str) -> Iterator[NamedFile]:
    """Every file that a row names, each name once."""
    found: dict[str, str] = {}
    for (label, field), digest in DIGESTS.items():
        rows = apps.get_model(label)._base_manager.using(alias).exclude(**{field: ""})
        found.update(rows.values_list(field, digest).iterator(chunk_size=2_000))
    for name, sha256 in sorted(found.items()):
        yield NamedFile(name, sha256)


def is_kept(folder: Path, sha256: str) -> bool:
    """Whether the backup holds these bytes, which are read for it."""
    try:
        with kept_at(folder, sha256).open("rb") as file:
            return sha256_of(file) == sha256
    except FileNotFoundError:
        return False


def take(storage: Storage, named: NamedFile, folder: Path) -> tuple[KeptFile | None, Damaged | None, bool]:
    """Into the backup, unless it is there. What was kept, what was wrong with it, and whether it was copied.

    Bytes that are not those of the row are kept under their own digest, for whoever looks at them, and told.
    """
    if named.sha256 and is_kept(folder, named.sha256):
        size = kept_at(folder, named.sha256).stat().st_size
        return KeptFile(named.name, size, named.sha256), None, False
    try:
        with storage.open(named.name, "rb") as stored:
            size, sha256 = _copy(stored, folder)
    except FileNotFoundError:
        return None, Damaged(named.name, named.sha256, ""), False
    wrong = Damaged(named.name, named.sha256, sha256) if named.sha256 not in ("", sha256) else None
    return KeptFile(named.name, size, sha256), wrong, True


def _copy(stored: IO[bytes] | Any, folder: Path) -> tuple[int, str]:
    """Size and digest of what is under its digest now: whole, and on the disk, before it has its name."""
    digest, size = hashlib.sha256(), 0
    part = folder / "files" / ".part"
    part.parent.mkdir(parents=True, exist_ok=True)
    with part.open("wb") as copy:
        while piece := stored.read(PIECE):
            digest.update(piece)
            size += len(piece)
            copy.write(piece)
        copy.flush()
        os.fsync(copy.fileno())
    target = kept_at(folder, digest.hexdigest())
    target.parent.mkdir(parents=True, exist_ok=True)
    part.replace(target)
    return size, digest.hexdigest()


def stored_digest(storage: Storage, name: str) -> str | None:
    """SHA-256 of the file in the storage; None where there is none."""
    try:
        with storage.open(name, "rb") as stored:
            return sha256_of(stored)
    except FileNotFoundError:
        return None


def put(storage: Storage, file: KeptFile, folder: Path, *, over: bool) -> bool:
    """Into the storage, unless it is there; whether it was written. ``over``: instead of other bytes of that name.

    Raises BackupRefused where other bytes are there, or where what was written is not what was kept.
    """
    there = stored_digest(storage, file.name)
    if there == file.sha256:
        return False
    if there is not None and not over:
        raise BackupRefused(f"The storage has another file at {file.name}: this installation is not empty.")
    if there is not None:
        storage.delete(file.name)
    with kept_at(folder, file.sha256).open("rb") as kept:
        name = storage.save(file.name, File(kept))
    if name != file.name or stored_digest(storage, file.name) != file.sha256:
        raise BackupRefused(f"{file.name} could not be stored as it was kept.")
    return True


def drop_unnamed(folder: Path, files: tuple[KeptFile, ...]) -> None:
    """Take away what no file of the backup is any more: of withdrawn plans, of a run that was killed."""
    named = {file.sha256 for file in files}
    for path in (folder / "files").rglob("*"):
        if path.is_file() and path.name not in named:
            path.unlink()
