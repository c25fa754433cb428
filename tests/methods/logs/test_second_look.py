"""Logs that are none at first sight: readings far down, parted by what nobody uses, or few among other lines."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.layouts.layout_answers import answer
from tests.methods.logs.logs import read_all
from tests.methods.logs.test_understanding import layout_of, sniff

HEAD = "Time,CO2 (ppm)\n"
ROWS = "".join(f"2024-03-13 10:{k:02}:00,6{k:02}\n" for k in range(30))


@pytest.mark.parametrize("delimiter", list("~^#!*@&$?`\\"))
def test_any_mark_may_part_columns(tmp_path: Path, delimiter: str) -> None:
    layout = layout_of(tmp_path, (HEAD + ROWS).replace(",", delimiter))
    assert layout.delimiter == delimiter
    assert read_all(tmp_path / "log", layout).values[:, 0].tolist() == [600 + k for k in range(30)]


@pytest.mark.parametrize("lines", [399, 400, 1500, 3900])
def test_readings_may_begin_far_down(tmp_path: Path, lines: int) -> None:
    text = "".join(f"Setting {k}: on\n" for k in range(lines)) + HEAD + ROWS
    layout = layout_of(tmp_path, text)
    assert (layout.header_line, layout.first_data_line) == (lines + 1, lines + 2)
    assert len(read_all(tmp_path / "log", layout).stamps) == 30


def test_few_readings_among_other_lines_are_asked_about(tmp_path: Path) -> None:
    text = HEAD + "".join(f"{row}\n" + "door opened by hand\n" * 9 for row in ROWS.splitlines())
    found = sniff(tmp_path, text)
    (question,) = found.questions
    assert (question.code, question.message[:38]) == ("few_lines", "Only 30 of the first 301 lines look li")
    assert found.layout is not None
    assert len(read_all(tmp_path / "log", answer(found.layout, question, "read")).stamps) == 30


@pytest.mark.parametrize("text", ["see page 12~13\n" * 40, "a#b#c\n" * 50, "2024-03-13: a meeting\n2024-03-14: none\n"])
def test_what_is_no_log_stays_none(tmp_path: Path, text: str) -> None:
    assert sniff(tmp_path, text).layout is None


@pytest.mark.parametrize("head", ["Zeit;CO2 (ppm);Temperatur (°C);HCHO (ppm)\n", ""])
@pytest.mark.parametrize("cells", [";;;{}", ";{};;", ";{};20.5;0.03"])
@pytest.mark.parametrize("mark", [";", "\t", "|"])
def test_blanks_inside_of_dates_are_no_delimiter(tmp_path: Path, head: str, cells: str, mark: str) -> None:
    """Nobody reads these dates, so that blanks would part more that is understood."""
    lines = [f"1 March 2025, 10 h {minute:02}{cells.format(412 + minute)}\n" for minute in range(30)]
    found = sniff(tmp_path, (head + "".join(lines)).replace(";", mark))
    assert found.layout is not None
    assert found.layout.delimiter == mark


@pytest.mark.parametrize("mark", ["\t", " | "])
@pytest.mark.parametrize("gap", [" ", "   "])
def test_one_mark_behind_the_time_is_no_delimiter(tmp_path: Path, mark: str, gap: str) -> None:
    head = f"Date Time{mark}{gap.join(('CO2_ppm', 'Temp_C', 'HCHO_ppm'))}\n"
    rows = [f"2025-03-01 10:{k:02}{mark}{gap.join((str(612 + k), '21.5', '0.031'))}\n" for k in range(30)]
    assert layout_of(tmp_path, head + "".join(rows)).delimiter == " "
