"""An archive of several logs: its members, why one is none, and what is not unpacked at all."""

from __future__ import annotations

import gzip
import io
import zipfile
from pathlib import Path

import pytest

from methods.logs import Unreadable
from methods.logs.files.archives import MOST_LOGS, holds_several, unpacked
from tests.methods.logs.test_containers import CSV, workbook, zipped
from tests.methods.logs.test_containers import a_log as a_sheet

LOG = CSV.encode()
ROOM = 10_000_000


def archive(tmp_path: Path, *members: tuple[str, bytes]) -> Path:
    path = tmp_path / "box.zip"
    path.write_bytes(zipped(*members))
    return path


def told(path: Path, folder: Path, most: int = ROOM) -> list[tuple[str, str]]:
    return [(member.name, member.left_out) for member in unpacked(path, folder, most)]


def test_logs_and_what_lies_beside_them(tmp_path: Path) -> None:
    path = archive(
        tmp_path,
        ("room 1/log.csv", LOG),
        ("book.xlsx", workbook(a_sheet)),
        ("__MACOSX/._log.csv", b"junk"),
        ("readme.pdf", b"%PDF-1.7 something"),
        ("notes.txt", b"Dear all,\nthe minutes are below.\n"),
        ("inner.zip", zipped(("a.csv", LOG), ("b.csv", LOG))),
        ("packed.csv.gz", gzip.compress(LOG)),
        ("nothing.csv", b""),
    )
    assert holds_several(path)
    found = dict(told(path, tmp_path))
    assert [name for name, why in found.items() if not why] == ["room 1/log.csv", "book.xlsx"]
    assert found["readme.pdf"] == "This is a PDF document: export the readings as text (CSV) or XLSX."
    assert "does not look like a log" in found["notes.txt"]
    assert "packed again" in found["inner.zip"]
    assert "packed again" in found["packed.csv.gz"]
    assert "empty" in found["nothing.csv"]


def test_each_is_there_while_it_is_asked_for(tmp_path: Path) -> None:
    path = archive(tmp_path, ("a.csv", LOG), ("b.csv", LOG[:2000]))
    assert [member.path.read_bytes() for member in unpacked(path, tmp_path, ROOM)] == [LOG, LOG[:2000]]


@pytest.mark.parametrize(
    "members", [[("a.csv", LOG)], [], [("a.csv", LOG), (".hidden", b"x")]], ids=["one", "none", "one and a hidden one"]
)
def test_what_is_no_archive_of_several(tmp_path: Path, members: list[tuple[str, bytes]]) -> None:
    assert not holds_several(archive(tmp_path, *members))


@pytest.mark.parametrize("content", [LOG, workbook(a_sheet), b"", b"PK\x03\x04 and no more", gzip.compress(LOG)])
def test_nor_is_another_file(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "box.zip"
    path.write_bytes(content)
    assert not holds_several(path)


def test_one_that_is_too_large_and_one_that_is_damaged(tmp_path: Path) -> None:
    path = archive(tmp_path, ("a.csv", LOG), ("b.csv", LOG[:2000]), ("c.csv", LOG[:2000]))
    content = bytearray(path.read_bytes())
    with zipfile.ZipFile(path) as opened:
        at = opened.getinfo("c.csv").header_offset + 60
    content[at : at + 20] = b"\xff" * 20
    path.write_bytes(content)
    found = dict(told(path, tmp_path, most=5000))
    with pytest.raises(Unreadable, match="would unpack to 0 MB"):
        told(path, tmp_path, most=1000)
    assert ("more than 0 MB" in found["a.csv"], found["b.csv"], "damaged" in found["c.csv"]) == (True, "", True)


def encrypted() -> bytes:
    content = bytearray(zipped(("a.csv", LOG), ("b.csv", LOG)))
    for sign, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        content[content.index(sign) + offset] |= 1
    return bytes(content)


def bomb() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for n in range(4):
            packed.writestr(f"{n}.csv", bytes(60_000_000))
    return stream.getvalue()


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (zipped(*((f"{n}.csv", b"x") for n in range(MOST_LOGS + 1))), "several_files"),
        (encrypted(), "encrypted"),
        (bomb(), "zip_bomb"),
    ],
    ids=["too many", "encrypted", "bomb"],
)
def test_what_is_not_unpacked(tmp_path: Path, content: bytes, code: str) -> None:
    path = tmp_path / "box.zip"
    path.write_bytes(content)
    assert holds_several(path)
    with pytest.raises(Unreadable) as refused:
        next(unpacked(path, tmp_path, ROOM))
    assert refused.value.problems[0].code == code
