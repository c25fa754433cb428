"""Workbooks in the old binary format (BIFF in a compound file).

calamine takes them apart, in a process of its own: it holds a workbook in memory whole, each sheet as wide and as long
as its outermost cell says, so that a few bytes can ask for more memory than there is.
"""

from __future__ import annotations

import datetime as dt
import json
import os
import struct
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any

from methods.logs.files import old_book_process
from methods.logs.files.book import MOST_LETTERS, MOST_SHEETS, BookFile
from methods.logs.files.sheet_xml import as_text
from methods.logs.files.sources import MEGABYTE, refuse
from methods.logs.sketch import Cells
from methods.logs.types import Unreadable

MAX_SIZE = 128 * MEGABYTE
#: The globals of a workbook say near their beginning whether it is encrypted and what its days count from.
_GLOBALS = (b"\x09\x08\x10\x00\x00\x06\x05\x00", b"\x09\x08\x08\x00\x00\x05\x05\x00")
_END, _ENCRYPTED, _DAYS = 0x000A, 0x002F, 0x0022
_LOOKED_AT = 64 * 1024
_TELL = {
    "encrypted": "The workbook is encrypted: save it without a password.",
    "too-large": "The workbook asks for more memory or time than any log needs. It was not read: save the sheet with "
    "the readings as XLSX or as text (CSV).",
    "damaged": "The workbook is damaged: save it again, as XLSX or as text (CSV).",
}


class OldBook:
    def __init__(self, file: BookFile) -> None:
        """Raises Unreadable for what is too large, encrypted, damaged or no workbook."""
        if file.size > MAX_SIZE:
            raise refuse("binary", f"The old binary workbook is larger than {MAX_SIZE >> 20} MB: save it as XLSX.")
        self.stream = file.stream
        file.stream.seek(0)
        content = file.stream.read()
        _require_workbook(content)
        encrypted, self.late = _said_in_globals(content)
        if encrypted:
            raise _unreadable("encrypted")
        with self._running() as lines:
            titles = _checked(next(lines, None))["sheets"]
        self.sheets: dict[str, bool] = dict(titles[:MOST_SHEETS])

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        with self._running(title, str(columns)) as lines:
            _checked(next(lines, None))
            for number, line in enumerate(lines, 1):
                cells = [_text(value) for value in _checked(line)["row"]]
                if any(cells):
                    yield number, cells

    def close(self) -> None:
        """Nothing is held: each pass has a process of its own."""

    @contextmanager
    def _running(self, *said: str) -> Iterator[Iterator[bytes]]:
        """What the other process says, line by line. It ends with the pass, whether or not all was taken."""
        os.lseek(self.stream.fileno(), 0, os.SEEK_SET)
        command = [sys.executable, "-I", str(Path(old_book_process.__file__)), *said]
        with subprocess.Popen(  # noqa: S603 - our own program, with the name of a sheet as its one argument
            command, stdin=self.stream.fileno(), stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        ) as process:
            output: IO[bytes] | None = process.stdout
            assert output is not None
            try:
                yield _lines(process, output)
            finally:
                process.kill()


def _lines(process: subprocess.Popen[bytes], output: IO[bytes]) -> Iterator[bytes]:
    yield from output
    if process.wait() != 0:  # killed by a limit, or by what the library did
        raise _unreadable("too-large")


def _checked(line: bytes | None) -> dict[str, Any]:
    if line is None:
        raise _unreadable("damaged")
    said: dict[str, Any] = json.loads(line)
    if "refused" in said:
        raise _unreadable(said["refused"])
    return said


def _unreadable(why: str) -> Unreadable:
    return refuse("encrypted" if why == "encrypted" else "broken_workbook", _TELL[why])


def _text(value: Any) -> str:
    if isinstance(value, dict):
        ((kind, iso),) = value.items()
        if kind == old_book_process.LENGTH:
            return as_text(dt.timedelta(seconds=iso))
        moment = old_book_process.MOMENTS[kind].fromisoformat(iso)
        return as_text(moment)
    return as_text(value)[:MOST_LETTERS]


def _require_workbook(content: bytes) -> None:
    """By the names of the streams in the compound file."""
    if "EncryptedPackage".encode("utf-16-le") in content:
        raise _unreadable("encrypted")
    if not any(f"{name}\0".encode("utf-16-le") in content for name in ("Workbook", "Book", "WORKBOOK", "BOOK")):
        message = "This is an old binary document, not a workbook: export the readings as text (CSV) or XLSX."
        raise refuse("binary", message)


def _said_in_globals(content: bytes) -> tuple[bool, bool]:
    """Whether the workbook is encrypted, and whether its days count from 1904."""
    starts = [at for start in _GLOBALS if (at := content.find(start)) >= 0]
    at, late = min(starts, default=len(content)), False
    end = min(len(content) - 4, at + _LOOKED_AT)
    while at < end:
        kind, length = struct.unpack_from("<HH", content, at)
        if kind == _ENCRYPTED:
            return True, late
        if kind == _DAYS:
            late = content[at + 4 : at + 5] == b"\1"
        if kind == _END:
            break
        at += 4 + length
    return False, late
