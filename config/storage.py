"""Files kept whole or not at all, on this host's disk and on their way in."""

from __future__ import annotations

import os
from pathlib import Path
from typing import IO, Any
from uuid import uuid4

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage
from django.core.files.uploadhandler import SkipFile, TemporaryFileUploadHandler

from campaigns.hiccups import is_full

#: Set in the request's ``META`` where a file of it could not be spooled.
NO_SPACE = "fanlight.no_space"


class WholeFiles(FileSystemStorage):
    """A name stands for a file only when all of its bytes are on the disk: written beside it first, then linked.

    A disk that is full, or a process that is killed, leaves nothing under the name, and the former nothing at all.
    """

    def _save(self, name: str, content: File[Any]) -> str:
        target = Path(self.path(name))
        target.parent.mkdir(parents=True, exist_ok=True)
        part = target.parent / f".{uuid4().hex}.part"
        try:
            with part.open("xb") as kept:
                _write(content, kept)
            if self.file_permissions_mode is not None:
                part.chmod(self.file_permissions_mode)
            while not _put(part, target):  # somebody was faster under this name
                name = self.get_available_name(name)
                target = Path(self.path(name))
            _sync(target.parent)  # the name, too, outlives a power cut
        finally:
            part.unlink(missing_ok=True)
        return str(name).replace("\\", "/")


def _write(content: File[Any], kept: IO[bytes]) -> None:
    for chunk in content.chunks():
        kept.write(chunk.encode() if isinstance(chunk, str) else chunk)
    kept.flush()
    os.fsync(kept.fileno())


def _sync(folder: Path) -> None:
    try:
        opened = os.open(folder, os.O_RDONLY)
    except PermissionError:  # Windows, where folders cannot be opened
        return
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _put(part: Path, target: Path) -> bool:
    """Give the finished file its name, unless that is taken. A file system without links has no better way."""
    try:
        os.link(part, target)
    except FileExistsError:
        return False
    except OSError:
        if target.exists():
            return False
        part.replace(target)
    return True


class SpooledWhole(TemporaryFileUploadHandler):
    """An upload on its way in. Where there is no space for it, the file is left out, and the request says so."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        try:
            super().new_file(*args, **kwargs)
        except OSError as error:
            self._leave_out(error)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        try:
            super().receive_data_chunk(raw_data, start)
        except OSError as error:
            self._leave_out(error)
        return None

    def _leave_out(self, error: OSError) -> None:
        if not is_full(error):
            raise error
        if getattr(self, "file", None) is not None:
            self.file.close()
        if self.request is not None:
            self.request.META[NO_SPACE] = "yes"
        raise SkipFile from error
