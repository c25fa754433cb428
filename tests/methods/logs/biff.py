"""Old binary workbooks written for tests: BIFF8 records in a compound file, after the published layouts of both (the
record layouts and the compound file format are public documents; nothing but the parts that a log needs)."""

from __future__ import annotations

import datetime as dt
import struct
from collections.abc import Sequence

from tests.methods.logs.logs import clock

SECTOR, FREE, END, FAT = 512, 0xFFFFFFFF, 0xFFFFFFFE, 0xFFFFFFFD
GENERAL, DATES, LENGTHS = 0, 1, 2  #: places of the two cell formats that are written
Sheet = tuple[str, Sequence[Sequence[object]], bool]


def record(kind: int, body: bytes = b"") -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def days(moment: dt.datetime, *, late: bool) -> float:
    first = clock(1904, 1, 1) if late else clock(1899, 12, 30)
    return (moment - first) / dt.timedelta(days=1)


def cell(row: int, column: int, value: object, *, late: bool) -> bytes:
    if value is None:
        return b""
    if isinstance(value, dt.datetime):
        return record(0x0203, struct.pack("<HHHd", row, column, DATES, days(value, late=late)))
    if isinstance(value, dt.timedelta):
        return record(0x0203, struct.pack("<HHHd", row, column, LENGTHS, value / dt.timedelta(days=1)))
    if isinstance(value, str):
        text = value.encode("utf-16-le")
        return record(0x0204, struct.pack("<HHHHB", row, column, GENERAL, len(value), 1) + text)
    return record(0x0203, struct.pack("<HHHd", row, column, GENERAL, float(str(value))))


def sheet_records(rows: Sequence[Sequence[object]], *, late: bool) -> bytes:
    width = max((len(row) for row in rows), default=0)
    cells = (cell(r, c, value, late=late) for r, row in enumerate(rows) for c, value in enumerate(row))
    return b"".join(
        (
            record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0010, 0, 0, 0, 6)),
            record(0x0200, struct.pack("<IIHHH", 0, len(rows), 0, width, 0)),
            *cells,
            record(0x000A),
        )
    )


def workbook_stream(sheets: Sequence[Sheet], *, late: bool = False, locked: bool = False) -> bytes:
    """The records of a workbook; ``locked`` says that they are encrypted."""
    form = "yyyy-mm-dd hh:mm:ss"
    xf = [struct.pack("<HHHBBBBIIH", 0, number, 1, 0, 0, 0, 0, 0, 0, 0) for number in (0, 164, 46)]
    head = b"".join(
        (
            record(0x0809, struct.pack("<HHHHII", 0x0600, 0x0005, 0, 0, 0, 6)),
            record(0x002F, struct.pack("<H", 0) + b"\1\2\3\4") if locked else b"",
            record(0x0042, struct.pack("<H", 1200)),
            record(0x0022, struct.pack("<H", int(late))),
            record(0x041E, struct.pack("<HHB", 164, len(form), 0) + form.encode()),
            *(record(0x00E0, body) for body in xf),
        )
    )
    names = [(title.encode("utf-16-le"), hidden) for title, _, hidden in sheets]
    size = sum(4 + 8 + len(name) for name, _ in names)
    at = len(head) + size + 4
    bounds, parts = b"", b""
    for (name, hidden), (_, rows, _) in zip(names, sheets, strict=True):
        body = struct.pack("<IBBBB", at + len(parts), int(hidden), 0, len(name) // 2, 1) + name
        bounds += record(0x0085, body)
        parts += sheet_records(rows, late=late)
    return head + bounds + record(0x000A) + parts


def compound(stream: bytes, name: str = "Workbook") -> bytes:
    """``stream`` as the one stream of a compound file, in a row of sectors behind its directory."""
    stream = stream.ljust(max(4096, -(-len(stream) // SECTOR) * SECTOR), b"\0")
    count = len(stream) // SECTOR
    fats = next(n for n in range(1, 110) if n * 128 >= n + 1 + count)
    chain = [FAT] * fats + [END] + [*range(fats + 2, fats + 1 + count), END]
    table = struct.pack(f"<{fats * 128}I", *chain, *[FREE] * (fats * 128 - len(chain)))
    head = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(16)
    head += struct.pack("<HHHHH6x", 0x3E, 3, 0xFFFE, 9, 6)
    head += struct.pack("<IIIIIIIII", 0, fats, fats, 0, 4096, END, 0, END, 0)
    head += struct.pack("<109I", *range(fats), *[FREE] * (109 - fats))
    root = entry("Root Entry", 5, child=1, start=END, size=0)
    directory = root + entry(name, 2, start=fats + 1, size=len(stream)) + entry("", 0) + entry("", 0)
    return head + table + directory + stream


def entry(name: str, kind: int, child: int = FREE, start: int = 0, size: int = 0) -> bytes:
    text = name.encode("utf-16-le") + (b"\0\0" if name else b"")
    body = text.ljust(64, b"\0") + struct.pack("<HBB", len(text), kind, 1)
    body += struct.pack("<III", FREE, FREE, child) + bytes(16 + 4 + 16) + struct.pack("<IQ", start, size)
    return body


def old_workbook(*sheets: Sheet, late: bool = False, locked: bool = False) -> bytes:
    return compound(workbook_stream(sheets, late=late, locked=locked))
