"""Opening an upload: peel off gzip or zip, refuse bombs, and hand out plain bytes. Uploaded files are hostile."""

from __future__ import annotations

import errno
import re
import struct
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from methods.logs.files.book import BookFile
from methods.logs.files.json_document import JsonRecords, is_document
from methods.logs.types import LogProblem, Unreadable

MEGABYTE = 1 << 20
#: A log expands to at most this much …
MAX_EXPANDED = 8 << 30
#: … and, beyond the first 64 MiB, at most this many times (DEFLATE reaches 1 032; real logs stay under 60).
MAX_RATIO, RATIO_FROM = 250, 64 * MEGABYTE
MAX_MEMBERS = 2_000
#: A packed workbook is unpacked to disk first.
MAX_SPOOL = 512 * MEGABYTE

_ANCIENT = "a workbook of a format older than 1997: save it as XLSX or as text (CSV)"
_MAGIC = (
    (b"\x1f\x8b", "gzip"),
    (b"PK\x03\x04", "zip"),
    (b"PK\x05\x06", "zip"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "xls"),
    (b"\x09\x00\x04\x00", _ANCIENT),
    (b"\x09\x02\x06\x00", _ANCIENT),
    (b"\x09\x04\x06\x00", _ANCIENT),
    (b"\x09\x08\x08\x00\x00\x05", _ANCIENT),
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
#: Enough of a file to see what it is.
LOOKED_AT = 4096
_XML_WORKBOOK = re.compile(rb"<(?:\w+:)?workbook[\s>]")
_FLAT_DOCUMENT = re.compile(rb"<office:document[\s>]")
_PAGE = re.compile(rb"<(?:!doctype html|html|head|body|table|meta|center|font|div)[\s>]")
#: Kinds of workbooks that are no archive: unpacked to disk where they are packed.
SPOOLED = frozenset(("xls", "html", "xml"))


@dataclass(slots=True)
class Source:
    """Plain bytes of one log. ``read`` returns b"" at the end; ``position`` counts bytes of the file on disk.

    ``book`` is set, and ``read`` of no use, where the log is a workbook.
    """

    read: Callable[[int], bytes]
    position: Callable[[], int]
    container: str
    size: int
    book: BookFile | None = None
    truncated: bool = False


def refuse(code: str, message: str, value: str = "") -> Unreadable:
    return Unreadable(LogProblem(0, "", value, code, message))


@contextmanager
def open_source(path: Path) -> Iterator[Source]:
    """Raises Unreadable for an empty, foreign, broken or dangerous file."""
    size = path.stat().st_size
    if size == 0:
        raise refuse("empty", "The file is empty: nothing was copied from the logger.")
    with path.open("rb") as raw, ExitStack() as stack:
        head = raw.read(LOOKED_AT)
        kind = kind_of(head)
        raw.seek(0)
        if kind == "gzip":
            yield _inner(_guarded(Gunzip(raw).read, raw, "gzip", size), stack)
        elif kind in SPOOLED:
            yield Source(raw.read, raw.tell, "", size, BookFile(kind, raw, size))
        elif kind == "zip":
            yield _from_zip(stack.enter_context(_open_zip(raw)), raw, size, stack)
        elif kind:
            raise refuse("binary", f"This is {kind}.")
        else:
            yield _text(Source(raw.read, raw.tell, "", size), head)


def kind_of(head: bytes) -> str:
    """By the first bytes, ``LOOKED_AT`` of them at most: a container or kind of workbook, "" for text, or else what it
    is, in words."""
    return next((kind for magic, kind in _MAGIC if head.startswith(magic)), "") or _markup(head)


def _markup(head: bytes) -> str:
    """Tables of a web page, or a workbook in XML; "" for text without marks, and for marks of another kind."""
    text = head.replace(b"\0", b"").removeprefix(b"\xef\xbb\xbf").removeprefix(b"\xff\xfe").removeprefix(b"\xfe\xff")
    text = text.lstrip().lower()
    if not text.startswith(b"<"):
        return ""
    if _XML_WORKBOOK.search(text):
        return "xml"
    if _FLAT_DOCUMENT.search(text):
        return "an open document in one XML file: save it as ODS, XLSX or text (CSV)"
    return "html" if _PAGE.search(text) else ""


@contextmanager
def damage(message: str) -> Iterator[None]:
    """Libraries raise a dozen kinds of error over a hostile archive; only a failing disk is another matter."""
    try:
        yield
    except OSError as error:
        if error.errno not in (None, errno.EINVAL):  # a seek to a place that a damaged directory names
            raise
        raise refuse("broken_archive", message) from error
    except (EOFError, RuntimeError, ValueError, LookupError, ArithmeticError, zlib.error, struct.error) as error:
        raise refuse("broken_archive", message) from error
    except zipfile.BadZipFile as error:
        raise refuse("broken_archive", message) from error


def _open_zip(raw: IO[bytes]) -> zipfile.ZipFile:
    with damage("The ZIP archive is damaged or cut off: copy it again."):
        return zipfile.ZipFile(raw)


def _from_zip(archive: zipfile.ZipFile, raw: IO[bytes], size: int, stack: ExitStack) -> Source:
    check_declared(archive, size)
    if book := workbook_kind(archive):
        return Source(raw.read, raw.tell, "", size, BookFile(book, raw, size))
    member = _one_member(archive)
    with damage("The file in the ZIP archive is damaged or encrypted: pack it again."):
        unpacked = stack.enter_context(archive.open(member))
    return _inner(_guarded(unpacked.read, raw, "zip", size), stack)


def workbook_kind(archive: zipfile.ZipFile) -> str:
    """The kind of workbook that the archive is; "" if it is none."""
    names = archive.namelist()
    if "[Content_Types].xml" in names and any(name.startswith("xl/") for name in names):
        return "xlsx"
    if "mimetype" in names and "content.xml" in names:
        with damage("The workbook is damaged: save it again."), archive.open("mimetype") as member:
            said = member.read(200)
        if said.startswith(b"application/vnd.oasis.opendocument.spreadsheet"):
            return "ods"
    elif "[Content_Types].xml" not in names:
        return ""
    raise refuse("binary", "This is an office document, not a log: export the readings as text (CSV) or XLSX.")


def _inner(source: Source, stack: ExitStack) -> Source:
    """What was packed: text as it is, a workbook through a temporary file, nothing that is packed again."""
    head = source.read(LOOKED_AT)
    kind = kind_of(head)
    if not kind:
        source.read = _with_head(head, source.read)
        return _text(source, head)
    if kind != "zip" and kind not in SPOOLED:
        raise refuse("binary", f"The packed file is {'packed again' if kind == 'gzip' else kind}.")
    spool = stack.enter_context(tempfile.TemporaryFile())  # noqa: SIM115 - the stack closes it
    spool.write(head)
    while piece := source.read(MEGABYTE):
        spool.write(piece)
        if spool.tell() > MAX_SPOOL:
            raise bomb()
    size = spool.tell()
    spool.seek(0)
    if kind == "zip":
        with _open_zip(spool) as archive:
            check_declared(archive, size)
            kind = workbook_kind(archive)
            if not kind:
                raise refuse("binary", "The packed file is packed again: upload the log itself, or packed once.")
    spool.seek(0)
    return Source(spool.read, source.position, source.container, size, BookFile(kind, spool, size))


def _text(source: Source, head: bytes) -> Source:
    """Text as it is; the records of a JSON document as lines."""
    if not is_document(head):
        return source
    records = JsonRecords(source.read)

    def read(count: int) -> bytes:
        piece = records.read(count)
        source.truncated |= records.truncated
        return piece

    source.read = read
    return source


def _with_head(head: bytes, read: Callable[[int], bytes]) -> Callable[[int], bytes]:
    left = [head]
    return lambda count: left.pop() + read(max(0, count - len(head))) if left else read(count)


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


def log_members(archive: zipfile.ZipFile) -> list[zipfile.ZipInfo]:
    """Its files, without those that systems put beside them."""
    return [
        info
        for info in archive.infolist()
        if not info.is_dir()
        and not info.filename.startswith("__MACOSX/")
        and not info.filename.rsplit("/", 1)[-1].startswith(".")
    ]


def _one_member(archive: zipfile.ZipFile) -> zipfile.ZipInfo:
    members = log_members(archive)
    if not members:
        raise refuse("empty", "The ZIP archive holds no file.")
    if len(members) > 1:
        names = ", ".join(info.filename.rsplit("/", 1)[-1][:40] for info in members[:3])
        raise refuse(
            "several_files",
            f"The ZIP archive holds {len(members)} files ({names} …): upload one log per archive, or one by one.",
        )
    if members[0].flag_bits & 1:
        raise refuse("encrypted", "The ZIP archive is encrypted: upload it without a password.")
    return members[0]


class Gunzip:
    """Unpacks GZIP, of one or more members, and gives what there is of a file that is cut off (the standard reader
    gives nothing of its last piece)."""

    def __init__(self, raw: IO[bytes]) -> None:
        self.raw, self.packed, self.inflate = raw, b"", zlib.decompressobj(31)

    def read(self, count: int) -> bytes:
        """At most ``count`` bytes, b"" at the end; EOFError if the file ends too early, zlib.error for damage."""
        while True:
            self.packed = self.packed or self.raw.read(65_536)
            if not self.packed:
                if self.inflate.eof:
                    return b""
                if piece := self.inflate.decompress(b"", count):
                    return piece
                raise EOFError
            if self.inflate.eof:
                if not self.packed.startswith(b"\x1f\x8b"):  # padding behind the last member
                    self.packed = b""
                    continue
                self.inflate = zlib.decompressobj(31)
            piece = self.inflate.decompress(self.packed, count)
            self.packed = self.inflate.unconsumed_tail or self.inflate.unused_data
            if piece:
                return piece


def _guarded(unpacked: Callable[[int], bytes], raw: IO[bytes], container: str, size: int) -> Source:
    total = 0

    def read(count: int) -> bytes:
        nonlocal total
        with damage("The packed file is damaged: copy it again."):
            try:
                piece = unpacked(count)
            except EOFError:
                source.truncated = True
                return b""
        total += len(piece)
        if is_bomb(total, size):
            raise bomb()
        return piece

    source = Source(read, raw.tell, container, size)
    return source
