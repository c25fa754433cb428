"""A person's answers in a layout, layouts kept as JSON, and what makes files the same shape."""

from __future__ import annotations

import math
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from methods.logs import Column, ColumnRole, Layout, LayoutQuestion, understand
from methods.logs.layouts.layout_answers import answer, questions_left
from tests.methods.logs.logs import read_all, write

AMBIGUOUS = "Time;HCHO;Temp;Probe\n" + "".join(f"0{d}/02/2024 18:00;0.0{d};2{d};{d}.5\n" for d in range(1, 9))


def sniffed(tmp_path: Path, text: str, name: str = "log") -> tuple[Layout, tuple[LayoutQuestion, ...]]:
    found = understand(write(tmp_path / name, text), name=name)
    assert found.layout is not None
    return found.layout, found.questions


def settled(layout: Layout, questions: tuple[LayoutQuestion, ...], **choices: str) -> Layout:
    for question in questions:
        key = question.code if question.column is None else f"{question.code}_{question.column}"
        layout = answer(layout, question, choices[key])
    return layout


def test_all_answers_together(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, AMBIGUOUS)
    asked = [("day_or_month", None), ("unit", 1), ("unit", 2), ("parameter", 3)]
    assert [(q.code, q.column) for q in questions] == asked
    done = settled(layout, questions, day_or_month="month_first", unit_1="ppm", unit_2="°F", parameter_3="ignore")
    assert (done.stamp_format, done.day_first) == ("%m/%d/%Y %H:%M", False)
    assert [(c.parameter, c.unit) for c in done.values] == [("formaldehyde", "ppm"), ("temperature", "°F")]
    assert questions_left(done) == ()
    assert read_all(tmp_path / "log", done).values.shape == (8, 2)


def test_a_parameter_brings_its_only_unit_or_the_next_question(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, AMBIGUOUS)
    probe = next(q for q in questions if q.code == "parameter")
    assert answer(layout, probe, "humidity").columns[3].unit == "%RH"
    gas = answer(layout, probe, "co")
    assert gas.columns[3].unit is None
    assert ("unit", 3) in [(q.code, q.column) for q in questions_left(gas)]


def test_questions_left_are_those_of_sniffing(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, AMBIGUOUS)
    assert [(q.code, q.column) for q in questions_left(layout)] == [(q.code, q.column) for q in questions]


def test_a_year_in_front(tmp_path: Path) -> None:
    text = "Time;CO2 ppm\n" + "".join(f"24-02-1{i} 18:00;40{i}\n" for i in range(8))
    layout, questions = sniffed(tmp_path, text)
    done = answer(layout, questions[0], "year_first")
    assert done.stamp_format == "%y-%m-%d %H:%M"
    assert questions_left(done) == ()
    assert answer(layout, questions[0], "day_first").stamp_format == "%d-%m-%y %H:%M"
    assert answer(done, questions[0], "day_first").stamp_format == "%d-%m-%y %H:%M"


def test_one_of_two_columns(tmp_path: Path) -> None:
    layout, questions = sniffed(
        tmp_path, "Time;CO2 ppm;CO2 (ppm)\n" + "".join(f"2024-02-13 18:0{i};40{i};39{i}\n" for i in range(8))
    )
    done = answer(layout, questions[0], "2")
    assert [c.index for c in done.values] == [2]
    assert done.columns[1].role is ColumnRole.IGNORE


def test_the_time_of_two(tmp_path: Path) -> None:
    rows = "".join(f"2024-02-13 17:0{i},13/02/2024 18:0{i},40{i}\n" for i in range(8))
    layout, questions = sniffed(tmp_path, "utc time,local time,CO2 (ppm)\n" + rows)
    question = questions[0]
    other = answer(layout, question, question.choices[1][0])
    assert [c.role for c in other.columns] == [ColumnRole.IGNORE, ColumnRole.STAMP, ColumnRole.VALUE]
    assert other.stamp_format == "%d/%m/%Y %H:%M"
    assert [q.code for q in questions_left(other)] == ["day_or_month"]
    assert answer(layout, question, question.choices[0][0]) == layout


def test_decimals_or_thousands(tmp_path: Path) -> None:
    layout, questions = sniffed(
        tmp_path, "Time;CO2 (ppm)\n" + "".join(f"2024-02-13 18:0{i};1,{i}00\n" for i in range(8))
    )
    path = tmp_path / "log"
    assert read_all(path, answer(layout, questions[0], ".")).values[2, 0] == 1200.0
    assert read_all(path, answer(layout, questions[0], ",")).values[2, 0] == 1.2


def test_day_numbers(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, "Date,CO2 ppm\n" + "".join(f"{45382 + i / 8},40{i}\n" for i in range(8)))
    assert answer(layout, questions[0], "serial_1904").stamp_format == "serial_1904"


def test_a_choice_that_was_not_offered(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, AMBIGUOUS)
    with pytest.raises(ValueError, match="not a choice"):
        answer(layout, questions[0], "week_first")
    with pytest.raises(ValueError, match="cannot be answered here"):
        answer(layout, LayoutQuestion("no_time", "", ()), "0")
    with pytest.raises(ValueError, match="belongs to no column"):
        answer(layout, LayoutQuestion("unit", "", (("ppm", "ppm"),), 99), "ppm")


def test_json_and_back(tmp_path: Path) -> None:
    import json

    layout, _ = sniffed(tmp_path, AMBIGUOUS)
    assert Layout.from_json(json.loads(json.dumps(layout.to_json()))) == layout
    fixed = replace(layout, reader="fixed", spans=((0, 4), (4, 9)), name="Änne", missing_codes=("x",))
    assert Layout.from_json(fixed.to_json()) == fixed
    with pytest.raises((KeyError, TypeError, ValueError)):
        Layout.from_json({"reader": "delimited"})


def test_the_shape_is_what_the_file_shows(tmp_path: Path) -> None:
    layout, questions = sniffed(tmp_path, AMBIGUOUS)
    done = settled(layout, questions, day_or_month="day_first", unit_1="ppm", unit_2="°C", parameter_3="ignore")
    longer, _ = sniffed(tmp_path, "A preamble\n\n" + AMBIGUOUS, "longer")
    other, _ = sniffed(tmp_path, AMBIGUOUS.replace("HCHO", "HCHO (ppm)"), "other")
    assert done.shape_key() == layout.shape_key() == longer.shape_key()
    assert other.shape_key() != layout.shape_key()
    commas, _ = sniffed(tmp_path, AMBIGUOUS.replace(";", ","), "commas")
    assert commas.shape_key() != layout.shape_key()


def test_units_of_a_units_row_belong_to_the_shape(tmp_path: Path) -> None:
    text = "Time;Temp\n;{}\n" + "".join(f"2024-02-13 18:0{i};2{i}\n" for i in range(8))
    celsius, _ = sniffed(tmp_path, text.format("°C"))
    fahrenheit, _ = sniffed(tmp_path, text.format("°F"))
    assert celsius.shape_key() != fahrenheit.shape_key()


@given(st.decimals(0, 1, places=9), st.sampled_from([1, 50_000]))
@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_fraction_of_one_is_a_hundredth_of_percent_to_the_bit(tmp_path: Path, share: Decimal, rows: int) -> None:
    columns = Column(0, "Time", ColumnRole.STAMP), Column(1, "RH", ColumnRole.VALUE, "humidity", "%RH", scale=100.0)
    layout = Layout("delimited", delimiter=";", stamp_format="%Y-%m-%d %H:%M", columns=columns)
    assert Layout.from_json(layout.to_json()) == layout
    path = write(tmp_path / "log", f"2026-09-15 08:00;{share:f}\n2026-09-15 08:01;<{share:f}\n2026-09-15 08:02;err\n")
    values = read_all(path, layout, rows).values[:, 0].tolist()
    assert values[:2] == [float(share * 100)] * 2
    assert math.isnan(values[2])


def test_even_one_humidity_below_one_is_asked_about(tmp_path: Path) -> None:
    _, (question,) = sniffed(tmp_path, "Time;RH (%)\n2026-09-15 08:00;0.445\n")
    assert ("fraction", "no, it is a fraction of 1: 0.445 is 44.5 %RH") in question.choices
