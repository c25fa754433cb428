"""What is refused is told why, truly: of lines with a date and a number nobody says that there are none."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.layouts.layout_answers import questions_left
from methods.logs.layouts.layout_corrections import with_columns
from methods.logs.refusals import no_log
from methods.logs.text.sample import FileSample
from methods.logs.types import ColumnRole
from tests.methods.logs.corpus.shapes import workbook
from tests.methods.logs.logs import clock, read_all
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


OTHERS = "".join(f"2025-03-01 10:{k:02};3.{k};1013\n" for k in MINUTES)
RECORDS = [{"time": f"2025-03-01T10:{k:02}:00", "battery": k} for k in MINUTES]


@pytest.mark.parametrize(
    ("text", "parted"),
    [
        ("time;battery (V);pressure (hPa)\n" + OTHERS, "semicolons between"),
        ("time\tbattery (V)\tpressure (hPa)\n" + OTHERS.replace(";", "\t"), "tabs between"),
        (json.dumps(RECORDS), "in columns"),
    ],
)
def test_a_table_of_other_quantities_can_be_answered(tmp_path: Path, text: str, parted: str) -> None:
    found = sniff(tmp_path, text)
    (question,) = found.questions
    assert (question.code, parted in question.message, "“battery" in question.message) == ("no_quantity", True, True)
    assert found.layout is not None
    assert [left.code for left in questions_left(found.layout)] == ["no_quantity"]
    settled = with_columns(found.layout, {1: (ColumnRole.VALUE, "co2", "ppm")})
    assert questions_left(settled) == ()
    assert len(read_all(tmp_path / "log", settled).lines) == len(MINUTES)


def test_a_workbook_of_other_quantities_can_be_answered(tmp_path: Path) -> None:
    path = tmp_path / "log"
    path.write_bytes(workbook([["time", "battery (V)"], *([clock(2025, 3, 1, 10, k), 3.1] for k in MINUTES)]))
    assert [question.code for question in understand(path, name="log").questions] == ["no_quantity"]


@pytest.mark.parametrize("cell", ["on", "A{}"])
def test_a_table_of_words(tmp_path: Path, cell: str) -> None:
    rows = "".join(f"2025-03-01;10:{k:02};{cell.format(k)}\n" for k in MINUTES)
    assert "semicolons between its columns, and beside the time it has “pump”: none of them holds numbers" in refused(
        tmp_path, "date;time;pump\n" + rows
    )


@pytest.mark.parametrize("values", [[412, 20], [{"name": "co2", "value": 412}]])
@pytest.mark.parametrize("end", ["\n", ","])
def test_lists_in_objects(tmp_path: Path, values: list[object], end: str) -> None:
    text = end.join(json.dumps({"time": f"2025-03-01T10:{k:02}", "values": values}) for k in MINUTES)
    assert "hold lists, under “values”" in refused(tmp_path, text if end == "\n" else f"[{text}]")


def test_a_letter_is_none(tmp_path: Path) -> None:
    assert "no lines with a date, a time and numbers" in refused(tmp_path, "Dear all,\nsee you on Monday.\n")


@given(st.lists(st.text(alphabet="x:.-/ 0123456789,;~", max_size=40), min_size=1, max_size=30))
def test_none_is_said_only_where_there_is_none(lines: list[str]) -> None:
    told = no_log(FileSample("utf-8", "", ("2024-03-13 10:00~612", *lines), complete=True), "log.txt").message
    assert "no lines with" not in told
