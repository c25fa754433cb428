"""Every bad line that is promised a clear message (docs/methods/logs.md#promises): what is said, at which line and
column, what was stored all the same, and that nothing is worse for it afterwards.

What a good reader makes of each was written down by hand; codes of loggers are common practice, no source.
"""

from __future__ import annotations

import math
from typing import Any

import pytest

from campaigns.models import Channel, Job
from methods.quantities.flags import Flag
from readings.models import Upload
from readings.queries import rows
from tests.readings.doing import COLUMN, EVER, HEAD, TEN, cells, stored, told

pytestmark = pytest.mark.usefixtures("usable_afterwards")


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


class TestClocksInBadLines:
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


class TestUnitsInBadLines:
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

    @pytest.mark.parametrize("cell", ["oops", "0.03.1", "1e309", "0x1F"])
    def test_text_in_a_number_column(self, take: Any, channel: Channel, cell: str) -> None:
        upload, value, _ = self.one(take, channel, cell)
        assert value is None
        assert told(upload) == [(6, COLUMN, cell, "text_in_number")]
        assert upload.problems.get().message.startswith(f"“{cell}” is not a number")

    def test_a_formula(self, take: Any, channel: Channel) -> None:
        upload, value, _ = self.one(take, channel, "=1+1")
        assert (value, told(upload)) == (None, [(6, COLUMN, "=1+1", "formula")])
        assert "save it, and hand it in again" in upload.problems.get().message

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
        """It carries the zero's noise (docs/methods/correction.md)."""
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
