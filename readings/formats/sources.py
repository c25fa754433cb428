"""Opening an upload: peel off gzip or zip, refuse bombs, and hand out plain bytes. Uploaded files are hostile."""

from __future__ import annotations

import gzip
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from readings.formats.types import Problem, Unreadable

MEGABYTE = 1 << 20
#: A log expands to at most this much …
MAX_EXPANDED = 8 << 30
#: … and, beyond the first 64 MiB, at most this many times (DEFLATE reaches 1 032; real logs stay under 60).
MAX_RATIO, RATIO_FROM = 250, 64 * MEGABYTE
MAX_MEMBERS = 2_000

_MAGIC = (
    (b"\x1f\x8b", "gzip"),
    (b"PK\x03\x04", "zip"),
    (b"PK\x05\x06", "zip"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old binary workbook or document: save it as XLSX or as text (CSV)"),
    (b"%PDF", "a PDF document: export the readings as text (CSV) or XLSX"),
    (b"\x89PNG", "a picture: upload the log itself"),
    (b"\xff\xd8\xff", "a picture: upload the log itself"),
    (b"GIF8", "a picture: upload the log itself"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive: unpack it, or use ZIP or GZIP"),
    (b"Rar!", "a RAR archive: unpack it, or use ZIP or GZIP"),
    (b"BZh", "a BZIP2 archive: unpack it, or use ZIP or GZIP"),
    (b"\xfd7zXZ", "an XZ archive: unpack it, or use ZIP or GZIP"),
    (b"\x28\xb5\x2f\xfd", "a ZSTD archive: unpack it, or use ZIP or GZIP"),
    (b"SQLite format 3", "a database file: export the readings as text (CSV) or XLSX"),
    (b"PAR1", "a Parquet file: export the readings as text (CSV) or XLSX"),
    (b"\x7fELF", "a program"),
    (b"MZ\x90", "a program"),
)


@dataclass(slots=True)
class Source:
    """Plain bytes of one log. ``read`` returns b"" at the end; ``position`` counts bytes of the file on disk."""

    read: Callable[[int], bytes]
    position: Callable[[], int]
    container: str
    is_workbook: bool
    size: int
    truncated: bool = False


def refuse(code: str, message: str, value: str = "") -> Unreadable:
    return Unreadable(Problem(0, "", value, code, message))


@contextmanager
def open_source(path: Path) -> Iterator[Source]:
    """Raises Unreadable for an empty, foreign, broken or dangerous file."""
    size = path.stat().st_size
    if size == 0:
        raise refuse("empty", "The file is empty: nothing was copied from the logger.")
    with path.open("rb") as raw:
        kind = kind_of(raw.read(16))
        raw.seek(0)
        if kind == "gzip":
            with gzip.GzipFile(fileobj=raw) as unpacked:
                yield _guarded(unpacked, raw, "gzip", size)
        elif kind == "zip":
            with _open_zip(raw) as archive:
                yield from _from_zip(archive, raw, size)
        elif kind:
            raise refuse("binary", f"This is {kind}.")
        else:
            yield Source(raw.read, raw.tell, "", False, size)


def kind_of(head: bytes) -> str:
    return next((kind for magic, kind in _MAGIC if head.startswith(magic)), "")


def _open_zip(raw: IO[bytes]) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(raw)
    except (zipfile.BadZipFile, NotImplementedError, ValueError) as error:
        raise refuse("broken_archive", "The ZIP archive is damaged or cut off: copy it again.") from error


def _from_zip(archive: zipfile.ZipFile, raw: IO[bytes], size: int) -> Iterator[Source]:
    check_declared(archive, size)
    names = {info.filename for info in archive.infolist()}
    if "[Content_Types].xml" in names:
        if "xl/workbook.xml" not in names and not any(name.startswith("xl/") for name in names):
            raise refuse("binary", "This is an office document, not a log: export the readings as text (CSV) or XLSX.")
        yield Source(raw.read, raw.tell, "", True, size)
        return
    member = _one_member(archive)
    try:
        with archive.open(member) as unpacked:
            source = _guarded(unpacked, raw, "zip", size)
            yield source
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError) as error:
        raise refuse("broken_archive", "The file in the ZIP archive is damaged or encrypted: pack it again.") from error


def check_declared(archive: zipfile.ZipFile, size: int) -> None:
    """By what the archive says of itself; what it really holds is counted while it is read."""
    infos = archive.infolist()
    declared = sum(info.file_size for info in infos)
    if len(infos) > MAX_MEMBERS or is_bomb(declared, size):
        raise bomb()


def is_bomb(expanded: int, packed: int) -> bool:
    return expanded > MAX_EXPANDED or (expanded > RATIO_FROM and expanded > MAX_RATIO * max(packed, 1))


def bomb() -> Unreadable:
    return refuse(
        "zip_bomb", "The file would unpack to far more than a log can hold. It was not opened: upload the log unpacked."
    )


def _one_member(archive: zipfile.ZipFile) -> zipfile.ZipInfo:
    members = [
        info
        for info in archive.infolist()
        if not info.is_dir()
        and not info.filename.startswith("__MACOSX/")
        and not info.filename.rsplit("/", 1)[-1].startswith(".")
    ]
    if not members:
        raise refuse("empty", "The ZIP archive holds no file.")
    if len(members) > 1:
        names = ", ".join(info.filename.rsplit("/", 1)[-1] for info in members[:3])
        raise refuse(
            "several_files",
            f"The ZIP archive holds {len(members)} files ({names} …): upload one log per archive, or the logs one by one.",
        )
    if members[0].flag_bits & 1:
        raise refuse("encrypted", "The ZIP archive is encrypted: upload it without a password.")
    return members[0]


def _guarded(unpacked: IO[bytes], raw: IO[bytes], container: str, size: int) -> Source:
    total = 0

    def read(count: int) -> bytes:
        nonlocal total
        try:
            piece = unpacked.read(count)
        except EOFError:
            source.truncated = True
            return b""
        except (OSError, zlib.error, zipfile.BadZipFile) as error:
            raise refuse("broken_archive", "The packed file is damaged: copy it again.") from error
        total += len(piece)
        if is_bomb(total, size):
            raise bomb()
        return piece

    source = Source(read, raw.tell, container, False, size)
    return source
