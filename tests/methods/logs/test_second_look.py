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
