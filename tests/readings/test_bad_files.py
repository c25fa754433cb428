"""Every bad file that is promised a clear message (docs/methods/logs.md#promises): what is said, what was stored all
the same, and that nothing is worse for it afterwards. Bad lines in good files: test_bad_lines.

What a good reader makes of each was written down by hand; shapes of loggers are common practice, no source.
"""

from __future__ import annotations

import gzip
import io
import zipfile
from typing import Any

import numpy as np
import openpyxl
import pytest
from django.core.files.uploadedfile import UploadedFile

from campaigns.models import Campaign, Channel, Instrument, Job, User
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import UploadRefused, receive
from tests import factories as make
from tests.readings.doing import EVER, HEAD, TEN, Read, a_log, cells, stored, told

pytestmark = pytest.mark.usefixtures("usable_afterwards")


def is_unreadable(taken: Read, code: str, words: str) -> None:
    """Nothing is stored, the job has failed, and one message says why."""
    upload, job = taken
    assert (upload.state, upload.stored, upload.lines) == (Upload.State.UNREADABLE, 0, 0)
    assert (job.state, job.code) == (Job.State.FAILED, code)
    assert words in job.message
    assert [(line, found) for line, _, _, found in told(upload)] == [(0, code)]


class TestNoLog:
    def test_a_letter(self, take: Any) -> None:
        text = "Dear all,\nthe meter is back from repair.\nRegards\n" * 5
        is_unreadable(take(text, "letter.txt"), "not_a_log", "“letter.txt” does not look like a log")

    def test_a_header_and_nothing_below(self, take: Any) -> None:
        is_unreadable(take(HEAD + "\n"), "not_a_log", "holds no readings")

    def test_blank_lines(self, take: Any) -> None:
        is_unreadable(take("\n \n\n"), "empty", "nothing but blank lines")

    def test_bytes_at_random(self, take: Any) -> None:
        noise = np.random.default_rng(7).integers(0, 256, 5000, dtype=np.uint8).tobytes()
        is_unreadable(take(noise, "dump.bin"), "binary", "not text but a binary file")

    @pytest.mark.parametrize(
        ("begins", "words"),
        [(b"\x89PNG\r\n\x1a\n", "a picture"), (b"%PDF-1.7\n", "a PDF"), (b"\x7fELF\x02\x01", "a program")],
    )
    def test_a_file_of_another_kind(self, take: Any, begins: bytes, words: str) -> None:
        """Signatures: PNG (ISO/IEC 15948), PDF (ISO 32000), ELF (System V ABI)."""
        is_unreadable(take(begins + bytes(200), "log.csv"), "binary", words)

    def test_a_web_page(self, take: Any) -> None:
        page = "<!doctype html>\n<title>Log in</title>\n<p>Your session has ended at 2026-09-15 09:00.</p>\n"
        is_unreadable(take(page), "not_a_log", "does not look like a log")


class TestEmpty:
    def test_it_is_refused_at_the_door(self, campaign: Campaign, consultant: User) -> None:
        file = UploadedFile(io.BytesIO(b""), "nothing.csv", size=0)
        with pytest.raises(UploadRefused, match=r"“nothing.csv” is empty \(0 bytes\). Download the memory again"):
            receive(file, campaign, None, consultant)
        assert not Upload.objects.exists()


class TestFileTooLarge:
    class Claimed(io.RawIOBase):
        """Must not be read: the size alone decides."""

        def read(self, *_: Any) -> bytes:
            raise AssertionError("read although it is too large")

    def test_300_megabytes_are_refused_unread(self, campaign: Campaign, consultant: User) -> None:
        file = UploadedFile(self.Claimed(), "week.csv", size=300_000_000)  # type: ignore[arg-type]
        with pytest.raises(UploadRefused) as refused:
            receive(file, campaign, None, consultant)
        assert str(refused.value).startswith("“week.csv” has 300 MB; files up to 268 MB are taken.")
        assert "FANLIGHT_UPLOAD_MAX_MB" in str(refused.value)
        assert not Upload.objects.exists()


class TestBombs:
    """DEFLATE packs a run of one byte about a thousand times (RFC 1951): 100 MB come as 100 kB."""

    @pytest.fixture
    def zeros(self) -> bytes:
        return bytes(100_000_000)

    def test_zip(self, take: Any, zeros: bytes) -> None:
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("log.csv", zeros)
        is_unreadable(take(stream.getvalue(), "bomb.zip"), "zip_bomb", "far more than a log can hold")

    def test_gzip(self, take: Any, zeros: bytes) -> None:
        """Told before it is unpacked: what comes out is no text."""
        upload, job = take(gzip.compress(zeros), "bomb.gz")
        assert (upload.state, upload.stored) == (Upload.State.UNREADABLE, 0)
        assert job.state == Job.State.FAILED
        assert job.code in ("zip_bomb", "binary")

    def test_behind_a_good_beginning(
        self, take: Any, zeros: bytes, channel: Channel, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """What was stored before the damage showed is counted; the upload does not pretend to be without readings."""
        monkeypatch.setattr("readings.services.reading.CHUNK_ROWS", 4000)
        upload, job = take(gzip.compress(a_log(["0.031"] * 20_000).encode() + zeros), "half.gz")
        assert (upload.state, job.state) == (Upload.State.ATTENTION, Job.State.ATTENTION)
        assert job.code in ("zip_bomb", "line_too_long")
        assert upload.stored == len(stored(channel)) > 0
        assert upload.stored % 4000 == 0, "whole chunks"
        assert (0, "", "", job.code) in told(upload)

    def test_a_workbook(self, take: Any, zeros: bytes) -> None:
        book, stream = openpyxl.Workbook(), io.BytesIO()
        book.save(stream)
        with zipfile.ZipFile(stream, "a", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("xl/worksheets/sheet2.xml", zeros)
        is_unreadable(take(stream.getvalue(), "bomb.xlsx"), "zip_bomb", "far more than a log can hold")

    def test_an_archive_that_is_cut_off(self, take: Any) -> None:
        stream = io.BytesIO()
        with zipfile.ZipFile(stream, "w") as archive:
            archive.writestr("log.csv", cells(TEN))
        is_unreadable(take(stream.getvalue()[:-30], "cut.zip"), "broken_archive", "damaged or cut off")


class TestDelimiters:
    @pytest.mark.parametrize("delimiter", [";", "\t", "|"])
    def test_others_than_the_comma(self, take: Any, channel: Channel, delimiter: str) -> None:
        upload, _ = take(cells(TEN).replace(",", delimiter))
        assert (upload.stored, upload.problem_count) == (10, 0)
        assert stored(channel) == [float(v) for v in TEN]

    def test_one_that_nobody_uses(self, take: Any) -> None:
        is_unreadable(take(cells(TEN).replace(",", "=")), "not_a_log", "are not parted into columns")

    def test_a_decimal_comma(self, take: Any, channel: Channel) -> None:
        upload, _ = take(cells([v.replace(".", ",") for v in TEN]).replace(",", ";", 1).replace("00,", "00;"))
        assert (upload.stored, upload.problem_count, upload.layout["decimal"]) == (10, 0, ",")
        assert stored(channel) == [float(v) for v in TEN]

    def test_a_comma_for_both(self, take: Any, channel: Channel) -> None:
        """0,031 between commas: nobody can tell 0,031 from 0 and 31, so nothing is stored."""
        upload, job = take(cells([v.replace(".", ",") for v in TEN]))
        assert (upload.state, job.state, job.code) == (Upload.State.UNREADABLE, Job.State.FAILED, "decimal_comma")
        assert "semicolons or tabs" in job.message
        assert told(upload) == [(1, "", "3", "decimal_comma")]
        assert stored(channel) == []


class TestEncodings:
    @pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
    def test_a_byte_order_mark_and_wide_text(self, take: Any, channel: Channel, encoding: str) -> None:
        upload, _ = take(cells(TEN).encode(encoding))
        assert (upload.stored, upload.problem_count) == (10, 0)
        assert rows(channel.pk, *EVER)["line"].tolist() == list(range(2, 12))
        assert stored(channel) == [float(v) for v in TEN]

    def test_windows_1252(self, take: Any, meter: Instrument) -> None:
        make.ChannelSpecFactory.create(instrument_type=meter.type, unit="µg/m³", resolution=1, range_high=5000)
        upload, _ = take(a_log([31, 32], head="time,formaldehyde [µg/m³]").encode("cp1252"))
        assert (upload.stored, upload.layout["encoding"]) == (2, "cp1252")
        assert stored(meter.channels.get(spec__unit="µg/m³")) == [31, 32]

    def test_zeros_of_a_power_failure(self, take: Any, channel: Channel) -> None:
        upload, _ = take(cells(TEN).encode().replace(b"0.015", b"0.0\x0015"))
        assert upload.stored == 9
        ((line, column, value, code),) = told(upload)
        assert (line, column, code) == (7, "", "torn_line")
        assert "\x00" not in value


class TestNamesOfFiles:
    @pytest.mark.parametrize("name", ["../../etc/cron.d/log.csv", "C:\\meters\\log.csv", "a/b/c/log.csv"])
    def test_slashes(self, take: Any, name: str) -> None:
        upload, job = take(cells(TEN), name)
        assert (upload.filename, job.state) == ("log.csv", Job.State.DONE)

    def test_a_name_as_long_as_a_page(self, take: Any) -> None:
        upload, job = take(cells(TEN), "x" * 5000 + ".csv")
        assert (len(upload.filename), job.state) == (255, Job.State.DONE)

    def test_a_name_that_lies_about_its_kind(self, take: Any) -> None:
        upload, job = take(cells(TEN), "log.xlsx")
        assert (upload.layout["reader"], job.state) == ("delimited", Job.State.DONE)
