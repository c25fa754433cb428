"""Getting at an original, wherever it is stored."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path

from django.core.files import File

from campaigns.services.digests import NotAsStored, sha256_of
from readings.models import Upload


class OriginalMissing(Exception):
    """The bytes are not where they were stored: a database was restored without its files."""

    def __init__(self) -> None:
        super().__init__(
            "The original is not where it was stored. What was read from it before stays; ask the operator to restore "
            "the files that belong to this database."
        )


class OriginalAltered(OriginalMissing, NotAsStored):
    """The bytes are others than those that were handed in."""

    def __init__(self, upload: Upload) -> None:
        NotAsStored.__init__(
            self,
            "The bytes stored for this file are not the ones that were handed in: their SHA-256 is another. What was "
            "read from it before stays.",
            f"The original of upload {upload.key} is not what was handed in, with SHA-256 {upload.sha256}.",
        )


def opened(upload: Upload) -> File[bytes]:
    """The original, open at its beginning, after all of it was held against its digest. Raises OriginalMissing,
    OriginalAltered."""
    try:
        stored: File[bytes] = upload.original.storage.open(str(upload.original.name), "rb")
    except FileNotFoundError as error:
        raise OriginalMissing from error
    if sha256_of(stored) != upload.sha256:
        stored.close()
        raise OriginalAltered(upload)
    return stored


@contextmanager
def local_copy(upload: Upload) -> Iterator[Path]:
    """A path to the original's bytes: the stored file itself, or a temporary copy of an object in S3, after they were
    held against their digest; a file of which neither size nor time has changed since is not hashed again.

    Raises OriginalMissing, OriginalAltered.
    """
    try:
        path = Path(upload.original.path)
    except NotImplementedError:  # object storage has no paths
        with tempfile.TemporaryDirectory(prefix="fanlight-") as folder:
            path = Path(folder) / "original"
            _fetch(upload, path)
            _prove(upload, path)
            yield path
    else:
        if not path.is_file():
            raise OriginalMissing
        _prove(upload, path)
        yield path


def _prove(upload: Upload, path: Path) -> None:
    now = path.stat()
    if _sha256_at(str(path), now.st_size, now.st_mtime_ns, now.st_ino) != upload.sha256:
        raise OriginalAltered(upload)


@lru_cache(maxsize=1024)
def _sha256_at(path: str, size: int, mtime_ns: int, inode: int) -> str:
    with Path(path).open("rb") as file:
        return sha256_of(file)


def _fetch(upload: Upload, path: Path) -> None:
    try:
        with upload.original.open("rb") as stored, path.open("wb") as copy:
            shutil.copyfileobj(stored, copy, 1024 * 1024)
    except FileNotFoundError as error:
        raise OriginalMissing from error
