"""XLSX workbooks: checked for bombs before anything of them is believed."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator

from methods.logs.files.book import BookFile
from methods.logs.files.counted import CountedPart
from methods.logs.files.sheet_xml import book_of, texts_of
from methods.logs.files.sources import MEGABYTE, bomb, check_declared, is_bomb, refuse
from methods.logs.sketch import Cells

#: What is held in memory whole: everything but the sheets.
MAX_SHARED_TEXT = 32 * MEGABYTE
#: Parts that are read by us, or by nobody.
_NOT_KEPT = (
    "xl/worksheets/", "xl/sharedStrings", "xl/calcChain", "xl/pivot", "xl/comments", "xl/threadedComments",
    "xl/drawings/", "xl/charts/", "xl/tables/", "xl/externalLinks/", "xl/queryTables/", "customXml/",
    "content.xml", "styles.xml", "settings.xml", "meta.xml",
)  # fmt: skip


class XlsxBook:
    def __init__(self, file: BookFile) -> None:
        """Raises Unreadable for a bomb, and whatever openpyxl makes of what is wrong with it."""
        import openpyxl  # late: it costs a second, and most logs are text

        if not openpyxl.DEFUSEDXML:
            raise ImportError("openpyxl must find defusedxml: without it a workbook could expand entities without end")
        with zipfile.ZipFile(file.stream) as archive:
            check_members(archive, file.size, "xl/worksheets/")
        file.stream.seek(0)
        self.parts = book_of(file.stream)
        self.sheets = {title: title in self.parts.hidden for title in self.parts.sheets}
        self.late = self.parts.epoch.year == 1904

    def rows(self, title: str, columns: int) -> Iterator[tuple[int, Cells]]:
        return texts_of(self.parts, title, columns)

    def close(self) -> None:
        self.parts.archive.close()


def _is_kept(name: str) -> bool:
    """Whether a library makes objects of the part; by its name, and where that lies the limits of the process hold."""
    return name.endswith((".xml", ".rels")) and not name.startswith(_NOT_KEPT)


def check_members(archive: zipfile.ZipFile, size: int, sheets: str) -> None:
    """Declared sizes first, then what the members really expand to, counted without keeping it. Those whose names begin
    with ``sheets`` are read piece by piece; all others must fit into the memory."""
    check_declared(archive, size)
    total = 0
    for info in archive.infolist():
        expanded = _expanded(archive, info, size, total)
        if not info.filename.startswith(sheets) and expanded > MAX_SHARED_TEXT:
            raise bomb()
        total += expanded


def _expanded(archive: zipfile.ZipFile, info: zipfile.ZipInfo, size: int, before: int) -> int:
    found, part = 0, CountedPart(info.filename) if _is_kept(info.filename) else None
    try:
        with archive.open(info) as member:
            while piece := member.read(MEGABYTE):
                found += len(piece)
                if part is not None:
                    part.see(piece)
                if is_bomb(before + found, size):
                    raise bomb()
    except (RuntimeError, NotImplementedError) as error:
        raise refuse("broken_workbook", "The workbook is encrypted: save it without a password.") from error
    return found
