"""One line of the original with its neighbours: where a number in a report ends up."""

from __future__ import annotations

import gzip
import io
import json
import tracemalloc
import zipfile
from collections.abc import Callable

import openpyxl
import pytest
from django.test import Client

from campaigns.models import Campaign, User
from readings.models import Upload
from readings.services.original_lines import SHOWN, lines_around
from tests.methods.logs.biff import old_workbook
from tests.methods.logs.corpus.truth import MINUTE
from tests.methods.logs.markup import web_page, xml_workbook
from tests.methods.logs.ods import open_workbook
from tests.readings.doing import WALL, hand_in, read
from tests.readings.pages import Browse, at, text

LINES = [f"line {n}: 0.{n:03d}" for n in range(1, 21)]


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def upload(campaign: Campaign) -> Upload:
    return hand_in(campaign, "\n".join(LINES), "twenty.txt")


def test_who_not(upload: Upload, browse: Browse, stranger: User, client_person: User) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(at("upload-line", upload, 3)).status_code == 404
    assert browse(None).get(at("upload-line", upload, 3)).status_code == 302


@pytest.mark.parametrize(("line", "around"), [(1, (1, 5)), (2, (1, 6)), (10, (6, 14)), (19, (15, 20)), (20, (16, 20))])
def test_the_line_among_its_neighbours(upload: Upload, browser: Client, line: int, around: tuple[int, int]) -> None:
    page = browser.get(at("upload-line", upload, line))
    first, last = around
    assert page.context["around"] == [(n, LINES[n - 1]) for n in range(first, last + 1)]
    assert f'<tr class="marked" aria-current="true"><th scope="row">{line}</th><td>{LINES[line - 1]}</td>' in text(page)
    assert text(page).count("aria-current") == text(page).count("marked") == 1


@pytest.mark.parametrize("line", [0, 21, 10**12])
def test_a_line_that_is_not_there(upload: Upload, browser: Client, line: int) -> None:
    assert browser.get(at("upload-line", upload, line)).status_code == 404


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le", "utf-16-be"])
def test_as_text_whatever_the_encoding(campaign: Campaign, browser: Client, encoding: str) -> None:
    """Windows-1252 has "µ" as B5 and "ü" as FC, which are no UTF-8; UTF-16 has a zero in every other byte."""
    words = ["Küche; µg/m³", "2026-09-15 09:00;31", "2026-09-15 09:01;32"]
    upload = hand_in(campaign, "\r\n".join(words).encode(encoding), f"{encoding}.txt")
    page = browser.get(at("upload-line", upload, 1))
    assert page.context["around"] == list(enumerate(words, 1))
    assert "Küche; µg/m³" in text(page)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("closed", [True, False])
def test_whatever_the_line_ends(campaign: Campaign, end: str, closed: bool) -> None:
    upload = hand_in(campaign, end.join(["a", "b", "c"]) + (end if closed else ""))
    assert lines_around(upload, 2, before=5, after=5) == [(1, "a"), (2, "b"), (3, "c")]


def test_empty_lines_count(campaign: Campaign) -> None:
    upload = hand_in(campaign, "a\n\n\nd\n")
    assert lines_around(upload, 4) == [(4, "d")]
    assert lines_around(upload, 3) == [(3, "")]


def test_a_long_line_is_shortened(campaign: Campaign) -> None:
    upload = hand_in(campaign, "x" * 5000 + "\nshort")
    assert lines_around(upload, 1, after=1) == [(1, "x" * SHOWN), (2, "short")]


def test_markup_stays_text(campaign: Campaign, browser: Client) -> None:
    upload = hand_in(campaign, "<b>bold</b>\n")
    page = browser.get(at("upload-line", upload, 1)).content.decode()
    assert "<b>bold" not in page
    assert "&lt;b&gt;bold&lt;/b&gt;" in page


def packed(name: str, content: bytes) -> bytes:
    if name == "gzip":
        return gzip.compress(content)
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("log.txt", content)
    return stream.getvalue()


@pytest.mark.parametrize("container", ["gzip", "zip"])
def test_inside_an_archive(campaign: Campaign, container: str) -> None:
    upload = hand_in(campaign, packed(container, "\n".join(LINES).encode()))
    assert lines_around(upload, 10, before=1, after=1) == [(n, LINES[n - 1]) for n in (9, 10, 11)]


@pytest.mark.parametrize("write", [open_workbook, old_workbook, web_page, xml_workbook])
def test_the_line_of_a_workbook_is_its_row(campaign: Campaign, browser: Client, write: Callable[..., bytes]) -> None:
    rows = [["Time", "HCHO (ppm)"], *([WALL + n * MINUTE, 0.031] for n in range(9))]
    upload = hand_in(campaign, write(("Log", rows, False)), "book")
    read(upload)
    assert lines_around(upload, 3) == [(3, "2026-09-15 09:01:00 | 0.031")]
    assert "2026-09-15 09:01:00 | 0.031" in text(browser.get(at("upload-line", upload, 3)))


def test_the_line_of_a_json_document_is_its_object(campaign: Campaign, browser: Client) -> None:
    rows = [{"time": f"2026-09-15T09:0{n}:00", "hcho": 0.031} for n in range(9)]
    upload = hand_in(campaign, json.dumps({"version": 1, "rows": rows}, indent=1), "log.json")
    read(upload)
    assert lines_around(upload, 3) == [(3, '{ "time": "2026-09-15T09:02:00", "hcho": 0.031 }')]
    assert browser.get(at("upload-line", upload, 10)).status_code == 404


def test_a_workbook_without_a_log_has_no_lines(campaign: Campaign, browser: Client) -> None:
    book, stream = openpyxl.Workbook(), io.BytesIO()
    book.save(stream)
    upload = hand_in(campaign, stream.getvalue(), "book.xlsx")
    assert lines_around(upload, 1, after=7) == []
    assert browser.get(at("upload", upload)).status_code == 200


@pytest.mark.parametrize(
    "content", [b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", b"\x7fELF\x02\x01\x01\n" * 9, bytes(range(256)) * 9]
)
def test_a_binary_file_has_none_either(campaign: Campaign, browser: Client, content: bytes) -> None:
    upload = hand_in(campaign, content, "what.bin")
    assert lines_around(upload, 1, after=7) == []
    assert browser.get(at("upload", upload)).status_code == 200


@pytest.mark.parametrize("container", ["gzip", "zip"])
def test_a_line_without_end_does_not_fill_the_memory(campaign: Campaign, browser: Client, container: str) -> None:
    """60 MB of one letter pack into 60 kB: under the bound for archive bombs, and far beyond what a page may hold."""
    upload = hand_in(campaign, packed(container, b"x" * 60_000_000), "endless")
    tracemalloc.start()
    assert browser.get(at("upload", upload)).status_code == 200
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20_000_000
