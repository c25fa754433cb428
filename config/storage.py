"""Where originals and reports are kept on this host."""

from __future__ import annotations

import os
from typing import Any

from django.core.files.storage import FileSystemStorage


class KeptFiles(FileSystemStorage):
    """A file that was accepted outlives a power cut: its bytes and its name are on the disk before anybody is told."""

    def _save(self, name: str, content: Any) -> str:
        kept: str = super()._save(name, content)  # type: ignore[misc]  # its stubs leave it out
        path = self.path(kept)
        _sync(path)
        _sync(os.path.dirname(path))
        return kept


def _sync(path: str) -> None:
    try:
        opened = os.open(path, os.O_RDONLY)
    except PermissionError:  # a folder on Windows, which has no such thing
        return
    try:
        os.fsync(opened)
    finally:
        os.close(opened)
