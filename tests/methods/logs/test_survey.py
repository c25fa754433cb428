"""What only the whole file tells, when it is seen in more than one block."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from methods.logs import understand
from methods.logs.survey import BLOCK_LINES
from tests.methods.logs.logs import clock, write


@pytest.mark.parametrize("at", [0, BLOCK_LINES - 1, BLOCK_LINES + 500])
def test_one_line_settles_the_order_of_all_blocks(tmp_path: Path, at: int) -> None:
    """Whatever the later blocks leave open."""
    days = ["01/02/2026"] * (BLOCK_LINES + 1000)
    days[at] = "13/02/2026"
    lines = "".join(f"{day} 09:{n // 60 % 60:02d}:{n % 60:02d};612\n" for n, day in enumerate(days))
    found = understand(write(tmp_path / "log", f"Time;CO2 (ppm)\n{lines}"), name="log")
    assert [question.code for question in found.questions if question.code == "day_or_month"] == []
    assert found.layout is not None
    assert found.layout.day_first is True


@pytest.mark.parametrize(("moves", "asked"), [(False, ["still_date"]), (True, [])])
@pytest.mark.parametrize("lines", [1_000, BLOCK_LINES + 1_000])
def test_a_date_that_stands_still_while_midnights_pass_far_down(
    tmp_path: Path, lines: int, moves: bool, asked: list[str]
) -> None:
    moments = [clock(2026, 9, 13, 8) + dt.timedelta(minutes=n) for n in range(lines)]
    rows = "".join(f"{(m if moves else moments[0]):%Y-%m-%d};{m:%H:%M};612\n" for m in moments)
    found = understand(write(tmp_path / "log", f"Date;Time;CO2 (ppm)\n{rows}"), name="log")
    assert [question.code for question in found.questions] == asked
    if asked:
        assert found.questions[0].message.startswith("Line 962: Here the time goes back from 23:59:00 to 00:00:00")


def test_a_day_of_one_date_is_a_day(tmp_path: Path) -> None:
    rows = "".join(f"2026-09-13;{n // 60:02d}:{n % 60:02d};612\n" for n in range(1_440))
    assert understand(write(tmp_path / "log", f"Date;Time;CO2 (ppm)\n{rows}"), name="log").questions == ()


@pytest.mark.parametrize("form", ["%m/%d/%Y %H:%M", "%d/%m/%Y %H:%M", "%m/%d/%y %I:%M %p"])
@pytest.mark.parametrize("step", [360, 1440])
@pytest.mark.parametrize("day", [1, 2, 6, 11, 28])
def test_dates_that_are_in_order_in_a_living_order_leap_in_none(tmp_path: Path, form: str, step: int, day: int) -> None:
    """Through midnight and, from the 28th on, the end of the month: a log of readings one after the other."""
    moments = [clock(2026, 2, day, 22) + dt.timedelta(minutes=n * step) for n in range(12)]
    rows = "".join(f"{m:{form}};612\n" for m in moments)
    asked = {q.code for q in understand(write(tmp_path / "log", f"Time;CO2 (ppm)\n{rows}"), name="log").questions}
    assert asked <= {"day_or_month"}


@pytest.mark.parametrize("later", ["13/02/2026 09:00", "05/02/2026 09:00"])
def test_a_swapped_date_is_asked_about_where_no_order_puts_it_right(tmp_path: Path, later: str) -> None:
    """As a spreadsheet leaves them: 2026-02-02, -03 turned, -04, and one more."""
    rows = "".join(f"{s};612\n" for s in ("02/02/2026 09:00", "02/03/2026 09:00", "04/02/2026 09:00", later))
    found = understand(write(tmp_path / "log", f"Time;CO2 (ppm)\n02/01/2026 09:00;612\n{rows}"), name="log")
    assert "swapped_dates" in {question.code for question in found.questions}
