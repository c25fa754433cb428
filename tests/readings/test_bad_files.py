"""Every bad input that is promised a clear message (DESIGN, "What it promises"): what is said, at which line and
column, what was stored all the same, and that nothing is worse for it afterwards.

What a good reader makes of each was written down by hand; shapes and codes of loggers are common practice, no source.
"""

from __future__ import annotations

import gzip
import io
import math
import zipfile
from datetime import timedelta
from typing import Any

import numpy as np
import openpyxl
import pytest
from django.core.files.uploadedfile import UploadedFile
from django.test import Client

from campaigns.models import Campaign, Channel, Instrument, Job, User
from readings.flags import Flag
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import Refused, receive
from tests.readings.doing import WALL, a_log, hand_in, read, told
from tests.readings.pages import Browse, at

EVER = (-(2**62), 2**62)
TEN = [f"0.0{k + 10}" for k in range(10)]
HEAD = "time,formaldehyde [ppm]"
COLUMN = "formaldehyde [ppm]"
Read = tuple[Upload, Job]


@pytest.fixture
def after(campaign: Campaign, meter: Instrument, browse: Browse, consultant: User) -> Any:
    """Asked last by every test: the pages stand, and the next good file is read."""
    browser: Client = browse(consultant)
    yield
    assert browser.get(at("uploads", campaign)).status_code == 200
    for upload in Upload.objects.all():
        assert browser.get(at("upload", upload)).status_code == 200
    good = hand_in(campaign, a_log(TEN, start=WALL + timedelta(days=30)), "good.csv", meter)
    assert read(good).message == "10 readings stored."


pytestmark = pytest.mark.usefixtures("after")


@pytest.fixture
def take(campaign: Campaign, meter: Instrument) -> Any:
    def take(content: bytes | str, name: str = "log.csv") -> Read:
        upload = hand_in(campaign, content, name, meter)
        job = read(upload)
        return upload, job

    return take


def stored(channel: Channel) -> list[float]:
    values: list[float] = rows(channel.pk, *EVER)["raw"].tolist()
    return values


def cells(values: list[str]) -> str:
    """A minute apart, with these cells."""
    return a_log(values, every_s=60)


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
        is_unreadable(take(HEAD + "\n"), "not_a_log", "no lines with a date, a time and numbers")

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
        with pytest.raises(Refused, match=r"“nothing.csv” is empty \(0 bytes\). Download the memory again"):
            receive(file, campaign, None, consultant)
        assert not Upload.objects.exists()


class TestTooLarge:
    class Claimed(io.RawIOBase):
        """Must not be read: the size alone decides."""

        def read(self, *_: Any) -> bytes:
            raise AssertionError("read although it is too large")

    def test_300_megabytes_are_refused_unread(self, campaign: Campaign, consultant: User) -> None:
        file = UploadedFile(self.Claimed(), "week.csv", size=300_000_000)  # type: ignore[arg-type]
        with pytest.raises(Refused) as refused:
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
        is_unreadable(take(cells(TEN).replace(",", "~")), "not_a_log", "does not look like a log")

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
        from tests import factories as make

        make.ChannelSpecFactory.create(instrument_type=meter.type, unit="µg/m³", resolution=1, range_high=5000)
        upload, _ = take(a_log([31, 32], head="time,formaldehyde [µg/m³]").encode("cp1252"))
        assert (upload.stored, upload.layout["encoding"]) == (2, "cp1252")
        assert stored(meter.channels.get(spec__unit="µg/m³")) == [31, 32]

    def test_zeros_of_a_power_failure(self, take: Any, channel: Channel) -> None:
        upload, _ = take(cells(TEN).encode().replace(b"0.015", b"0.0\x0015"))
        assert upload.stored == 9
        ((line, column, value, code),) = told(upload)
        assert (line, column, code) == (7, COLUMN, "text_in_number")
        assert "\x00" not in value


class TestDates:
    def log(self, days: list[str]) -> str:
        return HEAD + "\n" + "".join(f"{day} 09:{k:02d}:00,0.0{k + 10}\n" for k, day in enumerate(days))

    def test_both_orders_in_one_file(self, take: Any, channel: Channel) -> None:
        """15 can be no month and 09/16 no day first: whoever guesses is wrong in one of them."""
        upload, job = take(self.log(["14/09/2026", "15/09/2026", "09/16/2026"]))
        assert (upload.state, job.state, job.code) == (Upload.State.ATTENTION, Job.State.ATTENTION, "day_or_month")
        assert "do not all have one order of day and month" in job.message
        assert [(line, code) for line, _, _, code in told(upload)] == [
            (0, "day_or_month"), (2, "mixed_dates"), (4, "mixed_dates"),
        ]  # fmt: skip
        assert told(upload)[2][2] == "09/16/2026 09:02:00"
        assert stored(channel) == []

    def test_either_order(self, take: Any, channel: Channel) -> None:
        upload, job = take(self.log(["05/06/2026", "06/06/2026", "07/06/2026"]))
        assert (upload.state, job.code) == (Upload.State.ATTENTION, "day_or_month")
        assert "which part comes first?" in job.message
        assert stored(channel) == []

    def test_the_last_line_can_tell(self, take: Any, channel: Channel) -> None:
        upload, job = take(self.log(["05/06/2026"] * 20 + ["13/06/2026"]))
        assert (job.state, upload.stored) == (Job.State.DONE, 21)
        assert rows(channel.pk, *EVER)["stamp"].tolist()[0] == 1_780_650_000_000  # date -ud '2026-06-05 09:00' +%s

    def test_a_date_that_is_none(self, take: Any) -> None:
        upload, job = take(cells(TEN).replace("2026-09-15 09:04:00", "2026-09-31 09:04:00"))
        assert (job.state, upload.stored) == (Job.State.DONE, 9)
        assert told(upload) == [(6, "time", "2026-09-31 09:04:00", "bad_stamp")]


class TestClocks:
    def at(self, *times: str) -> str:
        return HEAD + "\n" + "".join(f"{time},0.0{k + 10}\n" for k, time in enumerate(times))

    def test_the_repeated_hour(self, take: Any, channel: Channel) -> None:
        """Lisbon, 25 October 2026: 02:00 summer time is 01:00 again (IANA tz database)."""
        day = "2026-10-25"
        stamps = [f"{day} {t}" for t in ("00:30:00", "01:15:00", "01:45:00", "01:00:00", "01:30:00", "02:00:00")]
        upload, _ = take(self.at(*stamps))
        assert (upload.stored, upload.problem_count) == (6, 0)

    def test_a_clock_that_was_set_back(self, take: Any, channel: Channel) -> None:
        upload, job = take(
            self.at(
                "2026-09-15 09:00:00", "2026-09-15 09:01:00", "2026-09-15 09:02:00",
                "2026-09-15 07:58:00", "2026-09-15 07:59:00",
            )
        )  # fmt: skip
        assert (job.state, upload.stored) == (Job.State.DONE, 5)
        assert told(upload) == [(5, "", "2026-09-15 07:58:00", "clock_back")]
        assert "go back by 1 h 4 min here, from 2026-09-15 09:02:00 to 2026-09-15 07:58:00" in (
            upload.problems.get().message
        )

    def test_a_step_beyond_the_repeated_hour(self, take: Any) -> None:
        upload, _ = take(self.at("2026-10-25 01:45:00", "2026-10-25 01:50:00", "2026-10-25 00:10:00"))
        assert [code for *_, code in told(upload)] == ["clock_back"]

    def test_a_file_with_its_latest_reading_first(self, take: Any) -> None:
        upload, _ = take(self.at(*(f"2026-09-15 09:{m:02d}:00" for m in range(9, -1, -1))))
        assert (upload.stored, upload.problem_count) == (10, 0)

    def test_one_that_was_set_back_in_a_file_with_its_latest_reading_first(self, take: Any) -> None:
        minutes = [5, 4, 3, 2, 9, 8, 7]
        upload, _ = take(self.at(*(f"2026-09-15 09:{m:02d}:00" for m in minutes)))
        assert told(upload) == [(6, "", "2026-09-15 09:02:00", "clock_back")]

    def test_many_steps_are_counted(self, take: Any, monkeypatch: pytest.MonkeyPatch) -> None:
        """Across chunks of seven lines, too."""
        monkeypatch.setattr("readings.services.reading.CHUNK_ROWS", 7)
        zigzag = [f"2026-09-15 {9 + k:02d}:{m:02d}:00" for k in range(6) for m in (0, 2, 4, 3, 5, 4, 6, 5, 7, 6)]
        upload, _ = take(self.at(*zigzag))
        found = told(upload)
        assert [code for *_, code in found].count("clock_back") == 20
        assert (0, "", "4", "more_problems") in found
        assert upload.problem_count == 24

    def test_one_that_stood_still(self, take: Any, channel: Channel) -> None:
        """A place among equal stamps is a 15-bit number, as the database stores it."""
        upload, job = take(HEAD + "\n" + "2026-09-15 09:00:00,0.011\n" * 33_000)
        assert job.state == Job.State.DONE
        assert upload.stored == 32_768
        assert (32_770, "", "2026-09-15 09:00:00", "clock_still") in told(upload)
        assert rows(channel.pk, *EVER)["nth"].tolist() == list(range(32_768))


class TestLines:
    def test_a_row_that_is_there_twice(self, take: Any, channel: Channel) -> None:
        text = cells(TEN)
        upload, _ = take(text + text.splitlines()[-1] + "\n")
        assert told(upload) == [(12, "", "1", "duplicate_rows")]
        assert rows(channel.pk, *EVER)["nth"].tolist() == [0] * 10 + [1], "kept, and told apart"

    def test_two_downloads_in_one_file(self, take: Any) -> None:
        text = cells(TEN)
        upload, _ = take(text + text.split("\n", 1)[1])
        assert told(upload) == [(12, "", "2026-09-15 09:00:00", "clock_back")]
        assert "if two downloads stand in one file" in upload.problems.get().message

    @pytest.mark.parametrize("rest", ["2026-09-15 09:1", "2026-09-15 09:10:00"])
    def test_a_last_line_that_is_cut_off(self, take: Any, channel: Channel, rest: str) -> None:
        upload, job = take(cells(TEN) + rest)
        assert (job.state, upload.stored) == (Job.State.DONE, 10)
        assert told(upload) == [(12, "", rest, "truncated_line")]
        assert stored(channel) == [float(v) for v in TEN]

    def test_totals_at_the_end_are_no_readings(self, take: Any, channel: Channel) -> None:
        upload, _ = take(cells(TEN) + "Average,0.0145\nMaximum,0.019\n")
        assert (upload.stored, upload.problem_count) == (10, 0)
        assert 0.0145 not in stored(channel)

    def test_lines_of_another_width(self, take: Any) -> None:
        lines = cells(TEN).splitlines()
        lines[3], lines[6] = lines[3].split(",")[0], lines[6] + ",7,7"
        upload, job = take("\n".join(lines) + "\n")
        assert (job.state, upload.stored) == (Job.State.DONE, 8)
        assert [(line, code) for line, _, _, code in told(upload)] == [(4, "short_line"), (7, "long_line")]


class TestUnits:
    def test_a_unit_that_is_missing_is_asked_for(self, take: Any, channel: Channel) -> None:
        upload, job = take(cells(TEN).replace(" [ppm]", ""))
        assert (upload.state, job.state, job.code) == (Upload.State.ATTENTION, Job.State.ATTENTION, "unit")
        assert job.message.startswith("In which unit is “formaldehyde”? It holds 0.010")
        assert stored(channel) == []

    def test_a_parameter_that_nobody_knows_is_asked_for(self, take: Any, channel: Channel) -> None:
        upload, job = take(cells(TEN).replace("formaldehyde", "Xylozene"))
        assert (upload.state, job.state, job.code) == (Upload.State.ATTENTION, Job.State.ATTENTION, "parameter")
        assert job.message.startswith("What does “Xylozene [ppm]” measure?")
        assert stored(channel) == []

    def test_a_cell_in_another_unit(self, take: Any, channel: Channel) -> None:
        upload, _ = take(cells([*TEN[:8], "31 ppb", "0.03 ppm"]))
        assert told(upload) == [(10, COLUMN, "31 ppb", "unit_mismatch")]
        assert stored(channel) == [*(float(v) for v in TEN[:8]), 0.03]


class TestCells:
    """One odd cell among nine good ones."""

    def one(self, take: Any, channel: Channel, cell: str) -> tuple[Upload, float | None, int]:
        """The upload, and what is stored under the cell's stamp: value and flag; None where nothing is."""
        upload, job = take(cells([*TEN[:4], cell, *TEN[5:]]))
        assert job.state == Job.State.DONE
        found = rows(channel.pk, *EVER)
        at = found["line"] == 6
        assert found["raw"][~at].tolist() == [float(v) for k, v in enumerate(TEN) if k != 4]
        assert not found["flag"][~at].any()
        return (upload, float(found["raw"][at][0]), int(found["flag"][at][0])) if at.any() else (upload, None, 0)

    @pytest.mark.parametrize("cell", ["oops", "0.03.1", "1e309", "=1+1", "0x1F"])
    def test_text_in_a_number_column(self, take: Any, channel: Channel, cell: str) -> None:
        upload, value, _ = self.one(take, channel, cell)
        assert value is None
        assert told(upload) == [(6, COLUMN, cell, "text_in_number")]
        assert upload.problems.get().message.startswith(f"“{cell}” is not a number")

    def test_below_the_detection_limit(self, take: Any, channel: Channel) -> None:
        upload, value, flag = self.one(take, channel, "<0.01")
        assert (value, flag) == (0.01, Flag.BELOW_DETECTION), "the stored value is the limit, and is marked as one"
        assert upload.problem_count == 0

    def test_over_the_range(self, take: Any, channel: Channel) -> None:
        upload, value, flag = self.one(take, channel, ">5")
        assert (value, flag) == (5.0, Flag.OVER_RANGE)
        assert upload.problem_count == 0

    @pytest.mark.parametrize("cell", ["ERR", "NaN", "---", "-200", "-999", "N/A"])
    def test_codes_for_no_value(self, take: Any, channel: Channel, cell: str) -> None:
        """−200 would pull any mean below zero."""
        upload, value, flag = self.one(take, channel, cell)
        assert value is not None
        assert math.isnan(value)
        assert flag == Flag.SENSOR_ERROR
        assert upload.problem_count == 0

    def test_overload_without_a_number(self, take: Any, channel: Channel) -> None:
        _, value, flag = self.one(take, channel, "OL")
        assert value is not None
        assert math.isnan(value)
        assert flag == Flag.OVER_RANGE

    def test_an_empty_cell(self, take: Any, channel: Channel) -> None:
        upload, value, _ = self.one(take, channel, "")
        assert value is None
        assert (upload.lines, upload.stored, upload.problem_count) == (10, 9, 0)

    def test_a_negative_reading_is_a_reading(self, take: Any, channel: Channel) -> None:
        """It carries the zero's noise (METHODS M5)."""
        _, value, flag = self.one(take, channel, "-0.003")
        assert (value, flag) == (-0.003, 0)

    def test_a_cell_that_goes_on(self, take: Any, channel: Channel) -> None:
        """Shown shortened."""
        upload, value, _ = self.one(take, channel, "9" * 400)
        assert value is None
        assert len(upload.problems.get().value) <= 60
        assert len(upload.problems.get().message) < 300


class TestHostileCells:
    """Cells made to keep a reader busy. A worker that hangs holds up everybody's files."""

    @pytest.mark.timeout(20)
    @pytest.mark.parametrize("begun", ["x", "1", "1:", "1 ", '"', "-"])
    def test_they_cost_no_time(self, take: Any, channel: Channel, begun: str) -> None:
        upload, job = take(cells([*TEN[:9], begun * (100_001 // len(begun))]))
        assert job.state in (Job.State.DONE, Job.State.ATTENTION, Job.State.FAILED)
        assert job.code != "internal-error"
        assert len(upload.problems.all()) <= 3
        assert all(len(problem.value) <= 200 for problem in upload.problems.all())


class TestNames:
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
