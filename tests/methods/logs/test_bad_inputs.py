"""Each kind of bad input gets a clear word, with line, column and value: nothing is guessed, nothing lost silently."""

from __future__ import annotations

import math
import time
from pathlib import Path

import numpy as np
import pytest

from methods.logs import Layout, LogProblem, Understanding, Unreadable, read, understand
from methods.quantities.flags import Flag
from tests.methods.logs.logs import read_all, write

HEAD = "Time;HCHO (ppm);CO2 (ppm)\n"


def lines(count: int = 8, start: int = 0) -> str:
    return "".join(
        f"2024-02-13 {10 + i // 60}:{i % 60:02}:00;0.0{i % 10};{400 + i}\n" for i in range(start, start + count)
    )


def known(tmp_path: Path, text: str, encoding: str = "utf-8") -> tuple[Path, Understanding, Layout]:
    path = write(tmp_path / "log.csv", text, encoding)
    found = understand(path, name="log.csv")
    assert found.layout is not None, found.problems
    return path, found, found.layout


def only(problems: list[LogProblem] | tuple[LogProblem, ...]) -> LogProblem:
    assert len(problems) == 1, problems
    return problems[0]


def all_problems(path: Path, layout: Layout) -> list[LogProblem]:
    return [problem for chunk in read(path, layout) for problem in chunk.problems]


# --- no log at all ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (b"", "empty", "The file is empty"),
        (b"\n\n  \n", "empty", "nothing but blank lines"),
        (b"\xef\xbb\xbf", "empty", "nothing but blank lines"),
        (bytes(range(256)) * 40, "binary", "binary file"),
        (b"\x89PNG\r\n\x1a\n" + bytes(500), "binary", "a picture"),
        (b"%PDF-1.7 something", "binary", "a PDF document"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "binary", "not a workbook"),
        (b"SQLite format 3\x00" + bytes(90), "binary", "a database file"),
        (b"Dear all,\nthe minutes of our meeting are below.\nKind regards\n", "not_a_log", "does not look like a log"),
        (b'[["2024-02-13T18:00", 1]]', "not_a_log", "JSON lines"),
        (b"id,name,latitude,longitude\nA1,North,31.9,-89.2\nA2,South,30.6,-95.0\n", "not_a_log", "does not look like"),
        (b"x" * 400_000, "line_too_long", "never ends"),
    ],
)
def test_what_is_no_log_is_said_to_be_none(tmp_path: Path, content: bytes, code: str, words: str) -> None:
    path = tmp_path / "upload"
    path.write_bytes(content)
    found = understand(path, name="upload")
    problem = only(found.problems)
    assert found.layout is None
    assert (problem.code, problem.line) == (code, 0)
    assert words in problem.message


def test_a_name_with_slashes_is_only_shown(tmp_path: Path) -> None:
    path = write(tmp_path / "x", "nothing to see here\n")
    problem = only(understand(path, name="../../etc/passwd" + "a" * 300).problems)
    assert "../../etc/passwd" in problem.message
    assert len(problem.message) < 200


def test_a_binary_hole_in_a_text_log_is_passed_over(tmp_path: Path) -> None:
    """Zeros are what a logger writes when its power fails."""
    text = HEAD + lines(20) + "\0" * 64 + "\n" + lines(20, 20)
    path, _, layout = known(tmp_path, text)
    assert len(read_all(path, layout).lines) == 40


def test_a_log_without_a_header_has_no_lines_above_it(tmp_path: Path) -> None:
    found = understand(write(tmp_path / "log", lines(20)), name="upload")
    assert not [problem for problem in found.problems if problem.code == "lines_above"]


def test_reserved_space_and_a_torn_line_are_named(tmp_path: Path) -> None:
    text = HEAD + lines(5) + "\0" * 600 + "\n" + "\0" * 600 + lines(5, 5) + "\0" * 2_000_000
    path, _, layout = known(tmp_path, text)
    named = [(problem.line, problem.code) for problem in all_problems(path, layout) if "mostly" not in problem.code]
    first = HEAD.count("\n") + 6
    assert named == [(first, "reserved_space"), (first + 1, "torn_line"), (first + 6, "reserved_space")]
    assert len(read_all(path, layout).lines) == 9


# --- at a line --------------------------------------------------------------------------------------------------------


def test_text_in_a_number_column(tmp_path: Path) -> None:
    path, found, layout = known(tmp_path, HEAD + lines() + "2024-02-13 19:00:00;low;450\n" + lines(3, 20))
    problem = only(all_problems(path, layout))
    assert (problem.line, problem.column, problem.value, problem.code) == (10, "HCHO (ppm)", "low", "text_in_number")
    assert "“low” is not a number" in problem.message
    assert only(found.problems) == problem
    whole = read_all(path, layout)
    row = whole.lines.index(10)
    assert math.isnan(whole.values[row, 0])
    assert whole.values[row, 1] == 450
    assert whole.flags[row].tolist() == [0, 0]


@pytest.mark.parametrize(
    ("line", "column", "value", "code", "words"),
    [
        (
            "2024-02-30 18:00:00;0.01;1",
            "Time",
            "2024-02-30 18:00:00",
            "bad_stamp",
            "not a date and time like YYYY-MM-DD",
        ),
        ("2024-02-13 25:00:00;0.01;1", "Time", "2024-02-13 25:00:00", "bad_stamp", "was left out"),
        (";0.01;1", "Time", "", "stamp_missing", "no date and time"),
        ("2024-02-13 19:00:00;0.01", "", "2024-02-13 19:00:00 | 0.01", "short_line", "2 of 3 columns"),
        (
            "2024-02-13 19:00:00;0.01;1;7",
            "",
            "2024-02-13 19:00:00 | 0.01 | 1 | 7",
            "long_line",
            "4 columns instead of 3",
        ),
        ('2024-02-13 19:00:00;"0.01;1', "", '2024-02-13 19:00:00;"0.01;1', "bad_quotes", "quotation mark"),
        ("2024-02-13 19:00:00;0.01 ppb;1", "HCHO (ppm)", "0.01 ppb", "unit_mismatch", "not in ppm"),
        ("2024-02-13 19:00:00;0,01;1", "HCHO (ppm)", "0,01", "text_in_number", "the decimal mark of this file is “.”"),
        ("2024-02-13 19:00:00;1e999;1", "HCHO (ppm)", "1e999", "text_in_number", "not a number"),
    ],
)
def test_one_bad_line(tmp_path: Path, line: str, column: str, value: str, code: str, words: str) -> None:
    path, _, layout = known(tmp_path, HEAD + lines(8) + line + "\n" + lines(8, 10))
    problem = only(all_problems(path, layout))
    assert (problem.line, problem.column, problem.value, problem.code) == (10, column, value, code)
    assert words in problem.message
    assert len(read_all(path, layout).lines) == (17 if column == "HCHO (ppm)" else 16)


def test_a_long_value_is_shown_shortened(tmp_path: Path) -> None:
    path, _, layout = known(tmp_path, HEAD + lines() + "2024-02-13 19:00:00;" + "x" * 5000 + ";1\n")
    problem = only(all_problems(path, layout))
    assert len(problem.value) == 60
    assert len(problem.message) < 200


@pytest.mark.parametrize(
    "hostile", ["x" * 100_000, "1" * 100_000, "1 " * 50_000, "%" * 100_000, "_" * 100_000, "," * 3_000]
)
@pytest.mark.timeout(10)
def test_hostile_cells_cost_no_time(tmp_path: Path, hostile: str) -> None:
    """Patterns that try again from every letter of a long cell would take minutes over these."""
    started = time.process_time()
    for text in (
        HEAD + lines() + f"2024-02-13 19:00:00;{hostile};1\n",
        f"Time;{hostile};x\n" + lines(),
        hostile + "\n" + lines(),
    ):
        path = write(tmp_path / "log", text)
        layout = understand(path, name="log").layout
        if layout is not None and not any(c.parameter is None for c in layout.values):
            read_all(path, layout)
    assert time.process_time() - started < 3


def test_dates_with_day_and_month_changed_over(tmp_path: Path) -> None:
    text = (
        "Time;CO2 (ppm)\n"
        + "".join(f"{d:02}/02/2024 18:00;{600 + d}\n" for d in range(1, 21))
        + "02/21/2024 18:00;621\n"
    )
    path = write(tmp_path / "log.csv", text)
    found = understand(path, name="log.csv")
    assert [(q.code, [c for c, _ in q.choices]) for q in found.questions] == [
        ("day_or_month", ["day_first", "month_first"])
    ]
    assert {(p.line, p.value, p.code) for p in found.problems} == {
        (14, "13/02/2024 18:00", "mixed_dates"),
        (22, "02/21/2024 18:00", "mixed_dates"),
    }


def test_after_the_answer_the_others_are_problems_at_their_lines(tmp_path: Path) -> None:
    from methods.logs.layouts.layout_answers import answer

    text = (
        "Time;CO2 (ppm)\n"
        + "".join(f"{d:02}/02/2024 18:00;{600 + d}\n" for d in range(1, 21))
        + "02/21/2024 18:00;621\n"
    )
    path = write(tmp_path / "log.csv", text)
    found = understand(path, name="log.csv")
    assert found.layout is not None
    problem = only(all_problems(path, answer(found.layout, found.questions[0], "day_first")))
    assert (problem.line, problem.column, problem.value, problem.code) == (
        22,
        "Time",
        "02/21/2024 18:00",
        "mixed_dates",
    )
    assert "day and month the other way round" in problem.message


@pytest.mark.parametrize("tail", ["2024-02-13 19:00:00;0.0", "2024-02-13 19", '2024-02-13 19:00:00;"0.01'])
def test_a_last_line_that_breaks_off(tmp_path: Path, tail: str) -> None:
    path, _, layout = known(tmp_path, HEAD + lines() + tail)
    problem = only(all_problems(path, layout))
    assert (problem.line, problem.code) == (10, "truncated_line")
    assert "copy the file from the logger again" in problem.message
    assert len(read_all(path, layout).lines) == 8


def test_a_last_line_without_its_line_end_is_whole(tmp_path: Path) -> None:
    path, _, layout = known(tmp_path, (HEAD + lines()).rstrip("\n"))
    whole = read_all(path, layout)
    assert len(whole.lines) == 8
    assert whole.problems == []


def test_the_comma_between_columns_and_inside_numbers(tmp_path: Path) -> None:
    rows = "".join(f"2024-02-13 18:0{i}:00,0,0{i},21,{i}\n" for i in range(8))
    path = write(tmp_path / "log.csv", "Time,HCHO (ppm),Temp (°C)\n" + rows)
    found = understand(path, name="log.csv")
    problem = only(found.problems)
    assert found.layout is None
    assert (problem.line, problem.value, problem.code) == (1, "5", "decimal_comma")
    assert "3 columns, but the lines have 5 cells" in problem.message


def test_repeated_lines_are_told_once_and_kept(tmp_path: Path) -> None:
    once = "2024-02-13 19:00:00;0.01;450\n"
    path, _, layout = known(tmp_path, HEAD + lines() + once * 3 + lines(3, 20) + once * 2)
    problem = only(all_problems(path, layout))
    assert (problem.line, problem.value, problem.code) == (11, "3", "duplicate_rows")
    assert len(read_all(path, layout).lines) == 16


def test_several_points_in_one_minute_are_no_repetition(tmp_path: Path) -> None:
    rows = "".join(f"2024-02-13 18:0{i // 4};0.01;450\n" for i in range(12))
    path, _, layout = known(tmp_path, HEAD + rows)
    assert all_problems(path, layout) == []
    assert len(read_all(path, layout).lines) == 12


# --- many of them -----------------------------------------------------------------------------------------------------


def test_thousands_of_bad_lines_are_counted_not_listed(tmp_path: Path) -> None:
    bad = "2024-02-13 18:00:00;oops;1\n" * 3000 + "no time;1;1\n" * 500
    path, _, layout = known(tmp_path, HEAD + lines(500) + bad)
    problems = all_problems(path, layout)
    listed = [p for p in problems if p.line]
    closing = {p.code: p for p in problems if not p.line}
    assert sum(p.code == "text_in_number" for p in listed) == 200
    assert closing["more_problems"].message.startswith(
        "3,300 more problems are not listed: 2,800 × text in a number column"
    )
    assert "500 × unreadable date or time" in closing["more_problems"].message
    assert "of 4,000 lines could not be read" in closing["most_bad"].message


def test_the_cap_holds_over_all_chunks(tmp_path: Path) -> None:
    path, _, layout = known(tmp_path, HEAD + lines(300) + "2024-02-13 18:00:00;oops;1\n" * 1000)
    problems = [p for chunk in read(path, layout, chunk_rows=10) for p in chunk.problems]
    assert sum(p.code == "text_in_number" for p in problems) == 200


@pytest.mark.parametrize("rows", [7, 50_000])
@pytest.mark.parametrize(("above", "below", "told"), [(15, 200, ["201 of 216 lines were left out, from line 17 on"]), (200, 15, [])])  # fmt: skip # noqa: E501
def test_a_file_most_of_which_stands_below_another_head(
    tmp_path: Path, rows: int, above: int, below: int, told: list[str]
) -> None:
    turned = "Time;CO2 (ppm);HCHO (ppm)\n" + "".join(f"2026-09-15 {n // 60:02d}:{n % 60:02d}:00;600;0.03\n\n" for n in range(below))  # fmt: skip # noqa: E501
    head = "Time;HCHO (ppm);CO2 (ppm)\n"
    path = write(tmp_path / "log", head + "".join(f"2026-09-14 08:00:{n % 60:02d};0.03;600\n" for n in range(above)) + turned)  # fmt: skip # noqa: E501
    layout = understand(path, name="log").layout
    assert layout is not None
    problems = [p for chunk in read(path, layout, chunk_rows=rows) for p in chunk.problems]
    assert [p.message.split(": ", 1)[1].split(". ")[0] for p in problems if p.code == "most_left_out"] == told


# --- codes ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "value", "flag"),
    [
        ("<0.01", 0.01, Flag.BELOW_DETECTION),
        ("< 0.01", 0.01, Flag.BELOW_DETECTION),
        (">5", 5.0, Flag.OVER_RANGE),
        ("≥5", 5.0, Flag.OVER_RANGE),
        ("OL", math.nan, Flag.OVER_RANGE),
        ("n.d.", math.nan, Flag.BELOW_DETECTION),
        ("ERR", math.nan, Flag.SENSOR_ERROR),
        ("NaN", math.nan, Flag.SENSOR_ERROR),
        ("---", math.nan, Flag.SENSOR_ERROR),
        ("#N/A", math.nan, Flag.SENSOR_ERROR),
        ("-200", math.nan, Flag.SENSOR_ERROR),
        ("-999.0", math.nan, Flag.SENSOR_ERROR),
        ("", math.nan, Flag.NONE),
        ("-0.02", -0.02, Flag.NONE),
        ("0.03 ppm", 0.03, Flag.NONE),
        ("1.5E-02", 0.015, Flag.NONE),
        ("−0.5", -0.5, Flag.NONE),
    ],
)
def test_codes_and_marks(tmp_path: Path, text: str, value: float, flag: Flag) -> None:
    path, _, layout = known(tmp_path, HEAD + lines() + f"2024-02-13 19:00:00;{text};450\n")
    whole = read_all(path, layout)
    assert whole.problems == []
    np.testing.assert_array_equal(whole.values[-1], [value, 450.0])
    assert whole.flags[-1].tolist() == [int(flag), 0]


def test_a_code_of_ones_own(tmp_path: Path) -> None:
    from dataclasses import replace

    path, _, layout = known(tmp_path, HEAD + lines() + "2024-02-13 19:00:00;9999;-200\n")
    whole = read_all(path, replace(layout, missing_codes=("9999",)))
    np.testing.assert_array_equal(whole.values[-1], [math.nan, -200.0])
    assert whole.flags[-1].tolist() == [int(Flag.SENSOR_ERROR), 0]


# --- layouts that leave something open --------------------------------------------------------------------------------


def test_reading_refuses_an_open_question(tmp_path: Path) -> None:
    path = write(tmp_path / "log.csv", "Time;CO2 (ppm)\n" + "".join(f"0{d}/02/2024 18:00;{d}\n" for d in range(1, 8)))
    layout = understand(path, name="log.csv").layout
    assert layout is not None
    with pytest.raises(Unreadable) as caught:
        list(read(path, layout))
    assert caught.value.problems[0].code == "day_or_month"


def test_reading_refuses_a_file_of_another_kind(tmp_path: Path) -> None:
    path, _, layout = known(tmp_path, HEAD + lines())
    from dataclasses import replace

    with pytest.raises(Unreadable) as caught:
        list(read(path, replace(layout, reader="xlsx", sheet="Sheet")))
    assert caught.value.problems[0].code == "other_shape"
