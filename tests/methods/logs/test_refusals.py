"""What is refused is told why, truly: of lines with a date and a number nobody says that there are none."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.logs.refusals import no_log
from methods.logs.text.sample import FileSample
from tests.methods.logs.test_understanding import sniff

MINUTES = range(20)


def refused(tmp_path: Path, text: str) -> str:
    found = sniff(tmp_path, text)
    assert found.layout is None
    (problem,) = found.problems
    return problem.message


def test_names_without_readings(tmp_path: Path) -> None:
    assert "names its columns (“Time”, “CO2 (ppm)”)" in refused(tmp_path, "Meter 7\nTime,CO2 (ppm)\n")


def test_a_table_from_left_to_right(tmp_path: Path) -> None:
    stamps, values = (f"2024-03-13 10:{k:02}" for k in MINUTES), (f"61{k}" for k in MINUTES)
    text = f"Time,{','.join(stamps)}\nCO2 (ppm),{','.join(values)}\n"
    assert "stand side by side in line 1" in refused(tmp_path, text)


@pytest.mark.parametrize("line", ["t=2024-03-13T10:{k:02} co2=61{k}", "at10:{k:02}it_showed61{k}"])
def test_lines_that_are_not_parted(tmp_path: Path, line: str) -> None:
    told = refused(tmp_path, "\n".join(line.format(k=k) for k in MINUTES))
    assert told.startswith("20 of the first 20 lines have a date or a time and a number (line 1: “")


@pytest.mark.parametrize(
    ("head", "cell", "name"),
    [
        ("Zeit;CO2 (ppm)\n", "am 13. Maerz 24 um 10.{k:02} Uhr", "Zeit"),
        ("", "am 13. Maerz 24 um 10.{k:02} Uhr", "column 1"),
        ("Value;CO2 (ppm)\n", "W12-{k}", "Value"),
    ],
)
def test_the_column_that_comes_nearest_is_named(tmp_path: Path, head: str, cell: str, name: str) -> None:
    found = sniff(tmp_path, head + "".join(f"{cell.format(k=k)};61{k}\n" for k in MINUTES))
    asked = next(q.message for q in found.questions if q.code == "no_time")
    assert f"“{name}” comes nearest, it begins with “{cell.format(k=0)}”" in asked


def test_a_letter_is_none(tmp_path: Path) -> None:
    assert "no lines with a date, a time and numbers" in refused(tmp_path, "Dear all,\nsee you on Monday.\n")


@given(st.lists(st.text(alphabet="x:.-/ 0123456789,;~", max_size=40), min_size=1, max_size=30))
def test_none_is_said_only_where_there_is_none(lines: list[str]) -> None:
    told = no_log(FileSample("utf-8", "", ("2024-03-13 10:00~612", *lines), complete=True), "log.txt").message
    assert "no lines with" not in told
