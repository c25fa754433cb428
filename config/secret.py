"""The embedded default's secret key: made once, kept in ``var/``, readable by its owner only."""

from __future__ import annotations

import contextlib
import os
import secrets
import tempfile
from pathlib import Path


def stored_secret(path: Path) -> str:
    """The key in ``path``, which is made on first use.

    Two processes starting at once agree on one key: it is written aside and linked into place, which only the first
    of them can do.
    """
    if not path.exists():
        handle, draft = tempfile.mkstemp(dir=path.parent)  # readable by the owner only
        with os.fdopen(handle, "w", encoding="ascii") as file:
            file.write(secrets.token_urlsafe(50))
        with contextlib.suppress(FileExistsError):
            os.link(draft, path)
        os.unlink(draft)
    return path.read_text(encoding="ascii")
