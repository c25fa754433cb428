"""Stamps with both ends of an interval, and times with an offset: what is told apart by itself, and what is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs import understand
from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.layouts.layout_corrections import carry_over, with_time
from methods.logs.stamps.interval_stamps import AT_END, interval_question, settled_form
from methods.logs.stamps.stamp_detection import fits
from methods.logs.stamps.stamp_formats import compiled, middle_ms
from tests.methods.logs.logs import clock, ms_of, read_all, write


@pytest.mark.parametrize(
    ("cells", "kinds"),
    [
        ("08:00-09:00 09:00-10:00 10:00-11:00", {"interval"}),
        ("08:00-09:00 09:00-10:00", {"interval", "offset"}),
        ("08:00-08:30 08:30-09:00", {"interval"}),
        ("07:00-11:00 11:00-12:00 07:00-11:00 11:00-12:00", {"interval"}),
        ("06:00-14:00 14:00-22:00 22:00-06:00", {"interval"}),
        ("08:00-08:20", {"interval"}),
        ("08:00-05:00 09:00-05:00 10:00-05:00", {"offset"}),
        ("00:30-04:00 01:30-04:00 01:30-05:00", {"offset"}),
        ("08:00-05:00", {"offset"}),
        ("08:00-09:00", {"interval", "offset"}),
        ("08:00-09:00 08:00-09:00", {"interval", "offset"}),
        ("08:00+09:00 09:00+09:00", {"offset"}),
    ],
)
def test_what_a_column_can_be(cells: str, kinds: set[str]) -> None:
    texts = [f"2025-03-01 {cell}" for cell in cells.split()]
    assert {"offset" if "%z" in fit.text else "interval" for fit in fits(texts)} == kinds


@pytest.mark.parametrize(
    "cells",
    [
        ["2025-03-01T08:00-09:00", "2025-03-01T09:00-10:00", "2025-03-01T10:00-11:00"],
        ["2025-03-01 08:00:00-09:00", "2025-03-01 09:00:00-10:00", "2025-03-01 10:00:00-11:00"],
        [
            "2025-03-01 07:00:00-11:00",
            "2025-03-01 11:00:00-12:00",
            "2025-03-01 07:00:00-11:00",
            "2025-03-01 11:00:00-12:00",
        ],
    ],
)
def test_offsets_that_move_from_line_to_line_are_none(cells: list[str]) -> None:
    assert fits(cells) == []
    assert fits([f"{cell.rpartition('-')[0]}-05:00" for cell in cells]) != []


@pytest.mark.parametrize("between", [" - ", "–", " — ", "~", " to ", " bis ", " à ", " tot "])
def test_what_stands_between_the_ends(between: str) -> None:
    form = f"%Y-%m-%d %H:%M{between}%<open>"
    assert [fit.text for fit in fits([f"2025-03-01 08:00{between}09:00"])] == [form]
    assert compiled(settled_form(form, AT_END)).parse(f"2025-03-01 08:00{between}09:00") == ms_of(clock(2025, 3, 1, 9))


@pytest.mark.parametrize("offset", ["+14:15", "+15:00", "-12:30", "-13:00", "+01:20", "+0199", "-00:05"])
def test_an_offset_that_no_clock_has_is_none(offset: str) -> None:
    assert compiled("%Y-%m-%d %H:%M%z").parse(f"2025-03-01 08:00{offset}") is None


@pytest.mark.parametrize(
    ("text", "form", "end"),
    [
        ("2025-03-01 23:30-00:00", "%Y-%m-%d %H:%M-%<open>", clock(2025, 3, 2)),
        ("2025-03-01 23:00 - 24:00", "%Y-%m-%d %H:%M - %<open>", clock(2025, 3, 2)),
        ("01.03.2025 8:00–8:30", "%d.%m.%Y %H:%M–%<open>", clock(2025, 3, 1, 8, 30)),
        ("2025-03-01 11:30 PM - 12:30 AM", "%Y-%m-%d %I:%M %p - %<open>", clock(2025, 3, 2, 0, 30)),
        ("2025-03-01 0800-0900", "%Y-%m-%d %H%M-%<open>", clock(2025, 3, 1, 9)),
    ],
)
def test_the_end_of_an_interval(text: str, form: str, end: object) -> None:
    assert form in [fit.text for fit in fits([text])]
    settled = settled_form(form, AT_END)
    assert compiled(settled).parse(text) == ms_of(end)  # type: ignore[arg-type]
    assert middle_ms(settled) == 0


LOG = "Zeit;CO2 (ppm)\n01.03.2025 08:00-09:00;612\n01.03.2025 09:00-10:00;618\n13.03.2025 10:00-11:00;655\n"


def test_the_next_file_is_not_asked_again(tmp_path: Path) -> None:
    first = understand(write(tmp_path / "first.csv", LOG), name="first.csv")
    assert first.layout is not None
    [question] = first.questions
    assert "(“01.03.2025 08:00-09:00”)" in question.message
    assert question.choices[1][1] == "at the end of its interval, 09:00"
    settled = answer(first.layout, question, "end")
    second = understand(path := write(tmp_path / "second.csv", LOG.replace(".03.", ".04.")), name="second.csv")
    assert second.layout is not None
    kept = carry_over(second.layout, first.layout, settled, asked=["interval"])
    assert questions_left(kept) == ()
    assert read_all(path, kept).stamps[0] == ms_of(clock(2025, 4, 1, 9))


def test_a_column_that_is_chosen_is_asked_about(tmp_path: Path) -> None:
    layout = understand(write(tmp_path / "log.csv", LOG), name="log.csv").layout
    assert layout is not None
    chosen = with_time(layout, [line.split(";") for line in LOG.splitlines()[1:]])
    assert [question.code for question in questions_left(chosen)] == ["interval"]
    assert interval_question("%Y-%m-%d %H:%M") is None
