"""Words that mean one thing under one name and the other under another; counts of seconds under any name."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.layouts.layout_answers import questions_left
from methods.logs.layouts.layout_corrections import carry_over
from tests.methods.logs.logs import read_all
from tests.methods.logs.test_understanding import layout_of, sniff


@pytest.mark.parametrize("name", ["Error", "Fault", "Alarm", "Valid"])
def test_true_and_false_are_asked_about(tmp_path: Path, name: str) -> None:
    rows = "".join(f"2026-09-15 08:0{k}:00;60{k};{'true' if k == 3 else 'false'}\n" for k in range(9))
    assert [q.code for q in sniff(tmp_path, f"Time;CO2 (ppm);{name}\n{rows}").questions] == ["status"]


@pytest.mark.parametrize("head", ["Messzeitpunkt;CO2 (ppm)\n", "Marca;CO2 (ppm)\n", "Time;CO2 (ppm)\n"])
def test_seconds_since_1970(tmp_path: Path, head: str) -> None:
    layout = layout_of(tmp_path, head + "".join(f"{1788822300 + 60 * k};60{k}\n" for k in range(9)))
    assert read_all(tmp_path / "log", layout).stamps[:2] == [1788822300000, 1788822360000]


def test_without_a_header_they_are_asked_about_and_nothing_breaks(tmp_path: Path) -> None:
    found = sniff(tmp_path, "".join(f"{1788822300 + 60 * k};60{k}\n" for k in range(9)))
    assert found.layout is not None
    assert "parameter" in {question.code for question in found.questions}


@pytest.mark.parametrize("text", ["ND", "<"])
def test_states_that_come_with_a_later_file(tmp_path: Path, text: str) -> None:
    head, rows = "Time;CO2 (ppm);Q\n", "".join(f"2026-09-15 08:0{k}:00;60{k};\n" for k in range(9))
    before = layout_of(tmp_path, head + rows)
    fresh = sniff(tmp_path, head + rows[:-1] + f"{text}\n").layout
    assert fresh is not None
    carried = carry_over(fresh, before, before)
    assert [carried.columns[2], len(questions_left(carried))] == [fresh.columns[2], text == "ND"]
