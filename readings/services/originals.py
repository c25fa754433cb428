"""Getting at an original, wherever it is stored."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from readings.models import Upload


@contextmanager
def local_copy(upload: Upload) -> Iterator[Path]:
    """A path to the original's bytes: the stored file itself, or a temporary copy of an object in S3."""
    try:
        path = Path(upload.original.path)
    except NotImplementedError:  # object storage has no paths
        with tempfile.TemporaryDirectory(prefix="fanlight-") as folder:
            path = Path(folder) / "original"
            with upload.original.open("rb") as stored, path.open("wb") as copy:
                shutil.copyfileobj(stored, copy, 1024 * 1024)
            yield path
    else:
        yield path
