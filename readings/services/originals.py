"""Getting at an original, wherever it is stored."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from readings.models import Upload


class OriginalMissing(Exception):
    """The bytes are not where they were stored: a database was restored without its files."""

    def __init__(self) -> None:
        super().__init__(
            "The original is not where it was stored. What was read from it before stays; ask the operator to restore "
            "the files that belong to this database."
        )


@contextmanager
def local_copy(upload: Upload) -> Iterator[Path]:
    """A path to the original's bytes: the stored file itself, or a temporary copy of an object in S3.

    Raises OriginalMissing.
    """
    try:
        path = Path(upload.original.path)
    except NotImplementedError:  # object storage has no paths
        with tempfile.TemporaryDirectory(prefix="fanlight-") as folder:
            path = Path(folder) / "original"
            _fetch(upload, path)
            yield path
    else:
        if not path.is_file():
            raise OriginalMissing
        yield path


def _fetch(upload: Upload, path: Path) -> None:
    try:
        with upload.original.open("rb") as stored, path.open("wb") as copy:
            shutil.copyfileobj(stored, copy, 1024 * 1024)
    except FileNotFoundError as error:
        raise OriginalMissing from error
