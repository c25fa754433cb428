"""A date written once a day holds for the lines below it; where a clock goes back without a new one, none does."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import openpyxl
import pytest

from methods.logs import understand
from tests.methods.logs.logs import Whole, clock, ms_of, read_all, write

HEAD = "Date;Time;CO2 (ppm)"


def log(moments: list[dt.datetime], form: str = "%Y-%m-%d", lost: tuple[int, ...] = ()) -> str:
    """``lost``: the days, counted from 0, whose date is not written."""
    days = list(dict.fromkeys(moment.date() for moment in moments))
    lines, seen = [HEAD], {days[n] for n in lost}
    for n, moment in enumerate(moments):
        day = "" if moment.date() in seen else f"{moment:{form}}"
        seen.add(moment.date())
        lines.append(f"{day};{moment:%H:%M};{600 + n}")
    return "\n".join(lines) + "\n"


def read(tmp_path: Path, text: str) -> Whole:
    found = understand(path := write(tmp_path / "log", text), name="log")
    assert found.layout is not None
    assert [question.code for question in found.questions] == []
    return read_all(path, found.layout)


@pytest.mark.parametrize("form", ["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y"])
@pytest.mark.parametrize("minutes", [7, 60, 360, 720, -7, -60, -360])
def test_the_date_above_holds(tmp_path: Path, form: str, minutes: int) -> None:
    moments = [clock(2025, 3, 14, 9) + dt.timedelta(minutes=n * minutes) for n in range(300)]
    whole = read(tmp_path, log(moments, form))
    assert whole.stamps == [ms_of(moment) for moment in moments]
    assert whole.problems == []


@pytest.mark.parametrize("newest_first", [False, True])
@pytest.mark.parametrize("hours", [1, 3])
@pytest.mark.parametrize("day", [1, 2])
def test_a_clock_that_turns_without_a_new_date_is_named(
    tmp_path: Path, day: int, hours: int, newest_first: bool
) -> None:
    moments = [clock(2025, 3, 14) + dt.timedelta(hours=n * hours) for n in range(32 * 3 // hours)]
    moments = moments[::-1] if newest_first else moments
    whole = read(tmp_path, log(moments, lost=(day,)))
    missing = [n for n, moment in enumerate(moments) if moment.day == (17 - day if newest_first else 14 + day)]
    assert whole.stamps == [ms_of(moment) for n, moment in enumerate(moments) if n not in missing]
    assert [(line, code) for line, _, _, code in whole.problems if line] == [(n + 2, "no_date_holds") for n in missing]


def test_a_date_that_cannot_be_read_holds_for_nothing(tmp_path: Path) -> None:
    moments = [clock(2025, 3, 14) + dt.timedelta(hours=n * 3) for n in range(32)]
    whole = read(tmp_path, log(moments).replace("2025-03-16", "2025-03-16?"))
    assert {code for line, *_, code in whole.problems if line} == {"bad_stamp", "no_date_holds"}
    assert whole.stamps == [ms_of(moment) for moment in moments if moment.day != 16]


def test_names_that_are_repeated_end_no_day(tmp_path: Path) -> None:
    moments = [clock(2025, 3, 14) + dt.timedelta(hours=n * 3) for n in range(32)]
    lines = log(moments).splitlines()
    whole = read(tmp_path, "\n".join([*lines[:12], HEAD, *lines[12:]]) + "\n")
    assert whole.stamps == [ms_of(moment) for moment in moments]


def test_dates_of_merged_cells_in_a_workbook(tmp_path: Path) -> None:
    moments = [clock(2025, 3, 4, 12) + dt.timedelta(hours=n * 3) for n in range(32)]
    book = openpyxl.Workbook()
    for n, line in enumerate(log(moments).splitlines()):
        day, time, value = line.split(";")
        day_cell = dt.date.fromisoformat(day) if n and day else day or None
        book.active.append([day_cell, dt.time.fromisoformat(time) if n else time, int(value) if n else value])
    book.active.merge_cells("A2:A5")
    book.save(path := tmp_path / "log.xlsx")
    found = understand(path, name="log.xlsx")
    assert found.layout is not None
    assert read_all(path, found.layout).stamps == [ms_of(moment) for moment in moments]


def test_a_date_that_is_lost_among_others_is_no_date_below(tmp_path: Path) -> None:
    moments = [clock(2025, 3, 14, 9) + dt.timedelta(days=n) for n in range(12)]
    whole = read(tmp_path, log(moments, lost=(5,)))
    assert ms_of(moments[5]) not in whole.stamps
    assert len(whole.stamps) == 11
    assert [line for line, *_ in whole.problems] == [7]


def test_blocks_are_read_in_order(tmp_path: Path) -> None:
    moments = [clock(2025, 3, 14) + dt.timedelta(hours=n) for n in range(100)]
    found = understand(path := write(tmp_path / "log", log(moments)), name="log")
    assert found.layout is not None
    assert read_all(path, found.layout, chunk_rows=7).stamps == [ms_of(moment) for moment in moments]


@pytest.mark.parametrize(
    ("head", "texts", "code"),
    [("Status", "OK FAULT", ""), ("Device", "A-1 B-2", "sources"), ("Mode", "run purge", "status")],
)
def test_lines_below_the_date_tell_what_a_column_says(tmp_path: Path, head: str, texts: str, code: str) -> None:
    moments = [clock(2025, 3, 14, 9) + dt.timedelta(hours=n) for n in range(40)]
    names, *lines = log(moments).splitlines()
    usual, other = texts.split()
    told = [f"{line};{other if line.startswith(';') and n % 4 == 0 else usual}" for n, line in enumerate(lines)]
    found = understand(path := write(tmp_path / "log", "\n".join([f"{names};{head}", *told]) + "\n"), name="log")
    assert found.layout is not None
    assert [question.code for question in found.questions] == ([code] if code else [])
    if not code:
        flagged = [bool(flags[0]) for flags in read_all(path, found.layout).flags]
        assert flagged == [line.endswith(other) for line in told]
