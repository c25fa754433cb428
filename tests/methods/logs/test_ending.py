"""A file that ends without a line end: most are whole, some are cut off inside their last number."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs import understand
from tests.methods.logs.logs import read_all, write

HEAD = "Time;CO2 (ppm);HCHO (ppm)\n"


def lines(values: list[str]) -> str:
    return "".join(f"2024-02-13 {10 + i // 60}:{i % 60:02}:00;{400 + i};{value}\n" for i, value in enumerate(values))


TWENTY = [f"0.0{10 + i}" for i in range(20)]


def told(tmp_path: Path, text: str, chunk_rows: int = 50_000) -> tuple[int, list[tuple[int, str, str, str]]]:
    path = write(tmp_path / "log", text)
    layout = understand(path, name="log").layout
    assert layout is not None
    whole = read_all(path, layout, chunk_rows)
    return len(whole.lines), whole.problems


@pytest.mark.parametrize("chunk_rows", [1, 7, 50_000])
@pytest.mark.parametrize("cell", ["0.03", "0.0", "0.", "0", "", "-"])
def test_digits_that_are_missing(tmp_path: Path, cell: str, chunk_rows: int) -> None:
    text = HEAD + lines([*TWENTY, cell]).removesuffix("\n")
    assert told(tmp_path, text, chunk_rows) == (20, [(22, "HCHO (ppm)", cell, "truncated_value")])


def test_what_is_said_of_it(tmp_path: Path) -> None:
    path = write(tmp_path / "log", HEAD + lines([*TWENTY, "0.0"]).removesuffix("\n"))
    layout = understand(path, name="log").layout
    assert layout is not None
    (problem,) = [problem for chunk in read_all(path, layout).chunks for problem in chunk.problems]
    assert "in “0.0” after 1 places where every line before has 3" in problem.message


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ([*TWENTY, "0.031"], "it is whole"),
        ([*TWENTY, "0.0312"], "it has more"),
        ([*TWENTY[:19], "0.0"], "too few lines to know the column by"),
        ([*TWENTY[:10], "0.1", *TWENTY[:10], "0.0"], "zeros at the end are not printed"),
        ([*TWENTY, "---"], "a code has no decimals"),
        ([*TWENTY, "-200"], "nor has a number that is one"),
        (["400"] * 20 + ["41"], "whole numbers are of any length"),
    ],
)
def test_a_last_line_that_may_be_whole_is_read(tmp_path: Path, values: list[str], why: str) -> None:
    assert told(tmp_path, HEAD + lines(values).removesuffix("\n")) == (len(values), []), why


def test_a_line_that_was_ended_is_whole(tmp_path: Path) -> None:
    assert told(tmp_path, HEAD + lines([*TWENTY, "0.0"])) == (21, [])


def test_codes_among_the_lines_before_do_not_hide_it(tmp_path: Path) -> None:
    text = HEAD + lines([*TWENTY, "---", "-200", "OL", "0.0"]).removesuffix("\n")
    assert told(tmp_path, text)[1] == [(25, "HCHO (ppm)", "0.0", "truncated_value")]


def test_a_note_behind_the_readings_may_be_short(tmp_path: Path) -> None:
    rows = "".join(f"2024-02-13 10:{i:02}:00;{400 + i};room 1.25\n" for i in range(22))
    assert told(tmp_path, "Time;CO2 (ppm);Note\n" + rows[:-5]) == (22, [])


def test_a_time_in_the_last_column(tmp_path: Path) -> None:
    rows = "".join(f"{400 + i};2024-02-13 10:{i:02}:30\n" for i in range(22))
    assert told(tmp_path, "CO2 (ppm);Time\n" + rows[:-2]) == (
        21, [(23, "Time", "2024-02-13 10:21:3", "truncated_value")],
    )  # fmt: skip


def test_fixed_columns_end_at_one_place(tmp_path: Path) -> None:
    """Whole numbers, too: they end below each other. A blank cell keeps the file from being one of words."""
    rows = "".join(f"2024-02-13 10:{i:02}:00  {'' if i == 3 else f'0.0{i:02}':>8}  {90 + i:>8}\n" for i in range(24))
    text = f"{'Time':<19}  {'HCHO ppm':>8}  {'CO2 ppm':>8}\n" + rows
    assert told(tmp_path, text) == (24, [])
    assert told(tmp_path, text[:-1]) == (24, [])
    assert told(tmp_path, text[:-2]) == (23, [(25, "CO2 ppm", "11", "truncated_value")])


@pytest.mark.parametrize(("cell", "rows"), [("0.0", 20), ("0.031", 21), ("0.031±0.0", 21), ("0.0±0.002", 21)])
def test_an_uncertainty_may_be_cut_off_and_its_value_not(tmp_path: Path, cell: str, rows: int) -> None:
    text = HEAD + lines([*(f"{value}±0.002" for value in TWENTY), cell]).removesuffix("\n")
    assert told(tmp_path, text)[0] == rows
