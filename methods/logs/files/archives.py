"""A ZIP archive of several logs: its members, one by one, with the reason why one is none."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from methods.logs import messages
from methods.logs.bounded import understand, within
from methods.logs.files.sources import (
    LOOKED_AT,
    MEGABYTE,
    SPOOLED,
    bomb,
    check_declared,
    damage,
    is_bomb,
    kind_of,
    log_members,
    refuse,
    workbook_kind,
)
from methods.logs.other_tables import CODE, why_left_out
from methods.logs.types import Unreadable

#: More files than this are no day's work of one campaign.
MOST_LOGS = 200
#: All of them together hold at most so many times what one may: an archive must not fill a disk.
MOST_IN_ALL = 8
#: What is no log at all is left out; a log with something wrong in it is handed in, so that its page says what.
_NO_LOG = frozenset(("not_a_log", "binary", "empty", "line_too_long"))


@dataclass(frozen=True, slots=True)
class ArchiveMember:
    """One file of an archive: ``name`` with the folders it lies in; ``left_out`` says why it is no log, "" = it is one,
    and lies at ``path`` until the next is asked for."""

    name: str
    path: Path
    left_out: str = ""


def holds_several(path: Path) -> bool:
    """Whether the file is a ZIP archive with more than one file, and no workbook. Damaged ones are not, nor bombs."""
    with path.open("rb") as raw:
        if kind_of(raw.read(LOOKED_AT)) != "zip":
            return False
    try:
        return within(path, partial(_holds_several, path))
    except Unreadable:
        return False


def _holds_several(path: Path) -> bool:
    with _opened(path) as archive:
        return not workbook_kind(archive) and len(log_members(archive)) > 1


def unpacked(path: Path, folder: Path, most: int) -> Iterator[ArchiveMember]:
    """The members in the order of the archive, each in ``folder`` only until the next one; ``most`` bytes of each.

    Raises Unreadable, before the first, for a bomb, an encrypted archive and one of too many files or bytes.
    """
    size = path.stat().st_size
    with _opened(path) as archive:
        check_declared(archive, size)
        members = log_members(archive)
        if len(members) > MOST_LOGS:
            text = f"The archive holds {len(members)} files; up to {MOST_LOGS} are taken at once. Hand it in in parts."
            raise refuse("several_files", text)
        in_all = sum(member.file_size for member in members)  # more than is declared is never unpacked
        if in_all > MOST_IN_ALL * most:
            text = f"The archive would unpack to {in_all / 1e6:,.0f} MB; up to {MOST_IN_ALL * most / 1e6:,.0f} MB are"
            raise refuse("too_large", f"{text} taken at once. Hand it in in parts.")
        if any(member.flag_bits & 1 for member in members):
            raise refuse("encrypted", "The ZIP archive is encrypted: upload it without a password.")
        total = 0
        for member in members:
            place = folder / "member"
            try:
                left_out = _extract(archive, member, place, most)
            except Unreadable as error:
                left_out = error.problems[0].message
            total += place.stat().st_size
            if is_bomb(total, size):
                raise bomb()
            yield ArchiveMember(member.filename, place, left_out or _why_none(place, member.filename))


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    with damage("The ZIP archive is damaged or cut off: copy it again."):
        archive = zipfile.ZipFile(path)
    with archive:
        yield archive


def _extract(archive: zipfile.ZipFile, member: zipfile.ZipInfo, place: Path, most: int) -> str:
    """Why it was not, or not wholly, unpacked; "" if it was."""
    with (
        place.open("wb") as kept,
        damage("It is damaged in the archive: copy it again."),
        archive.open(member) as packed,
    ):
        while piece := packed.read(MEGABYTE):
            if kept.tell() + len(piece) > most:
                return f"It unpacks to more than {most / 1e6:.0f} MB, the most that is taken: export a shorter period."
            kept.write(piece)
    return ""


def _why_none(place: Path, name: str) -> str:
    """Why the file is no log, if it is none."""
    with place.open("rb") as file:
        kind = kind_of(file.read(LOOKED_AT))
    if kind == "gzip":
        return messages.packed_in_archive()
    if kind == "zip":
        try:
            with _opened(place) as archive:
                if not workbook_kind(archive):
                    return messages.packed_in_archive()
        except Unreadable as error:
            return error.problems[0].message
    elif kind and kind not in SPOOLED:
        return f"This is {kind}."
    found = understand(place, name=name.rpartition("/")[2])
    if found.layout is not None:
        return next((why_left_out(question) for question in found.questions if question.code == CODE), "")
    return next((problem.message for problem in found.problems if problem.code in _NO_LOG), "")
