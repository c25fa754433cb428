"""A date beside a time of day, where other columns could be either: the right one is taken, or it is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.types import LOCAL, UTC, Layout
from tests.methods.logs.logs import clock, ms_of, read_all
from tests.methods.logs.test_understanding import sniff

Columns = dict[str, list[str]]
DATES = ["2026-09-15"] * 5 + ["2026-09-16"] * 5
TIMES = [f"{(19 + n) % 24:02d}:07" for n in range(10)]
LATER = [f"{(21 + n) % 24:02d}:09" for n in range(10)]
STILL = ["2026-03-01"] * 10


def stamps(tmp_path: Path, columns: Columns, said: str = "", start: str = "") -> list[int]:
    """What is stored, after the choice whose words begin with ``said``; [] where something else is asked."""
    layout = settled(tmp_path, columns, said)
    for question in questions_left(layout):
        layout = answer(layout, question, start)
    return read_all(tmp_path / "log", layout).stamps


def settled(tmp_path: Path, columns: Columns, said: str = "") -> Layout:
    table = columns | {"HCHO (ppm)": [f"0.03{n}" for n in range(10)]}
    lines = zip(*table.values(), strict=True)
    found = sniff(tmp_path, "".join(f"{';'.join(line)}\n" for line in [tuple(table), *lines]))
    assert found.layout is not None
    assert [q.code for q in found.questions] == ["stamp_column"] * bool(said)
    for question in found.questions:
        assert question.choices[-1][0] == "none"
        choice = next(value for value, words in question.choices if words.startswith(said))
        return answer(found.layout, question, choice)
    return found.layout


TRUE = [ms_of(clock(2026, 9, 15 + (n > 4), (19 + n) % 24, 7)) for n in range(10)]
LATE = [ms_of(clock(2026, 9, 15 + (n > 4), (21 + n) % 24, 9)) for n in range(10)]


@pytest.mark.parametrize(
    "columns",
    [
        {"Calibration date": STILL, "Date": DATES, "Time": TIMES},
        {"Date": DATES, "Sunrise": ["06:30"] * 10, "Time": TIMES},
        {"Kalibrierdatum": STILL, "Datum": DATES, "Wartung um": LATER, "Uhrzeit": TIMES},
        {"Date": DATES, "Sunrise": ["06:30"] * 10, "Taken at": TIMES},
        {"Date (DD-MM-YYYY)": DATES, "Calibration date": STILL, "Time (HH:MM)": TIMES},
    ],
)
def test_a_heading_that_says_nothing_else_wins(tmp_path: Path, columns: Columns) -> None:
    assert stamps(tmp_path, columns) == TRUE


@pytest.mark.parametrize(("said", "wanted"), [("Date: 2026-09-15, Start", TRUE), ("Date: 2026-09-15, End", LATE)])
def test_equals_are_asked(tmp_path: Path, said: str, wanted: list[int]) -> None:
    assert stamps(tmp_path, {"Date": DATES, "End": LATER, "Start": TIMES}, said) == wanted
    assert stamps(tmp_path, {"Date": DATES, "Start time": TIMES, "End time": LATER}, said) == wanted


def test_dates_are_rivals_too(tmp_path: Path) -> None:
    assert stamps(tmp_path, {"Start date": STILL, "Sample date": DATES, "Time": TIMES}, "Sample date") == TRUE


@pytest.mark.parametrize(("said", "basis"), [("Date: 2026-09-15, UTC", UTC), ("Date: 2026-09-15, Time", LOCAL)])
def test_the_zone_is_that_of_the_chosen_columns(tmp_path: Path, said: str, basis: str) -> None:
    assert settled(tmp_path, {"Date": DATES, "UTC time": LATER, "Time": TIMES}, said).basis == basis


def test_dates_and_times_of_two_clocks_are_not_mixed(tmp_path: Path) -> None:
    columns = {"Local date": DATES, "Local time": TIMES, "UTC date": DATES[::-1], "UTC time": LATER}
    with pytest.raises(StopIteration):
        settled(tmp_path, columns, "Local date: 2026-09-15, UTC time")
    assert stamps(tmp_path, columns, "Local date") == TRUE


@pytest.mark.parametrize("name", ["Start date", "Calibration date", "Date"])
def test_a_date_that_stands_still_while_midnights_pass(tmp_path: Path, name: str) -> None:
    columns = {name: ["2026-09-15"] * 10, "Time": TIMES}
    assert stamps(tmp_path, columns, "Time: 19:07 alone", "2026-09-15") == TRUE


def test_a_still_date_of_something_else(tmp_path: Path) -> None:
    columns = {"Calibration date": STILL, "Time": TIMES[:5] + [f"23:{n + 10}" for n in range(5)]}
    assert stamps(tmp_path, columns, "Time: 19:07 alone", "2026-09-15")[:5] == TRUE[:5]
    columns["Measurement date"] = columns.pop("Calibration date")
    assert stamps(tmp_path, columns)[0] == ms_of(clock(2026, 3, 1, 19, 7))


def test_halves_of_the_day_go_with_their_time(tmp_path: Path) -> None:
    twelve = [clock(2026, 9, 15, (19 + n) % 24, 7) for n in range(10)]
    columns = {
        "Start date": ["2026-09-15"] * 10,
        "Time": [f"{m:%I:%M}" for m in twelve],
        "": [f"{m:%p}" for m in twelve],
    }
    assert stamps(tmp_path, columns, "Time: 07:07 alone", "2026-09-15") == TRUE
