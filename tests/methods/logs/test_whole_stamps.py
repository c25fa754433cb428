"""Stamps that lack a date, a start or a year: made whole in the order of the file, whatever the chunks."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import Layout, Unreadable, understand
from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.layouts.layout_corrections import carry_over
from tests.examples import examples
from tests.methods.logs.logs import Whole, clock, ms_of, read_all, write

HEAD = "Time;CO2 (ppm)\n"


def told(folder: Path, text: str, said: str, name: str = "log") -> tuple[Layout, Path]:
    """The layout with its start said, and the file."""
    path = write(folder / "log", text)
    found = understand(path, name=name)
    assert found.layout is not None
    return answer(found.layout, next(q for q in found.questions if q.code == "start"), said), path


def as_read(path: Path, layout: Layout, rows: int = 50_000) -> Whole:
    return read_all(path, layout, chunk_rows=rows)


steps = st.lists(st.timedeltas(dt.timedelta(minutes=1), dt.timedelta(hours=21)), min_size=3, max_size=30)


@given(
    steps=steps,
    rows=st.integers(1, 7),
    newest_first=st.booleans(),
    form=st.sampled_from(["%H:%M:%S", "%m-%d %H:%M:%S"]),
)
@settings(max_examples=examples(60), deadline=None)
def test_any_steps_shorter_than_a_day(
    tmp_path_factory: pytest.TempPathFactory, steps: list[dt.timedelta], rows: int, newest_first: bool, form: str
) -> None:
    moments = [clock(2027, 12, 30, 11)]
    for step in steps:
        moments.append((moments[-1] + step).replace(microsecond=0))
    if newest_first:
        moments.reverse()
    lines = "".join(f"{m:{form}};612\n" for m in moments)
    kind = {"stamp_format": form, "day_first": False, "newest_first": newest_first}
    start = moments[0].replace(month=1, day=1, hour=0, minute=0, second=0) if "%m" in form else moments[0].replace(hour=0, minute=0, second=0)  # fmt: skip # noqa: E501
    layout, path = told(tmp_path_factory.mktemp("steps"), HEAD + "11:00:00;612\n11:01:00;613\n", "2027-12-30")
    write(path, HEAD + lines)
    whole = as_read(path, Layout.from_json(layout.to_json() | kind | {"start_ms": ms_of(start)}), rows)
    assert whole.stamps == [ms_of(m) for m in moments]


def test_midnights_are_counted_and_told(tmp_path: Path) -> None:
    lines = "".join(f"{h % 24:02d}:00:00;612\n" for h in range(20, 80))
    layout, path = told(tmp_path, HEAD + lines, "2026-09-15")
    whole = as_read(path, layout)
    assert whole.stamps[-1] == ms_of(clock(2026, 9, 18, 7))
    said = [(line, code) for line, _, _, code in whole.problems]
    assert said == [(6, "next_days")]
    assert whole.chunks[-1].problems[0].message.startswith("The time of day goes back 3 times")


def test_a_clock_set_back_a_little_is_no_midnight(tmp_path: Path) -> None:
    layout, path = told(tmp_path, HEAD + "10:00:00;1\n10:30:00;2\n10:20:00;3\n10:50:00;4\n", "2026-09-15")
    assert as_read(path, layout).stamps[2:] == [ms_of(clock(2026, 9, 15, 10, 20)), ms_of(clock(2026, 9, 15, 10, 50))]


def test_a_leap_day_in_a_year_without_one_is_named(tmp_path: Path) -> None:
    layout, path = told(tmp_path, HEAD + "28 Feb 10:00;1\n29 Feb 10:00;2\n1 Mar 10:00;3\n", "2027")
    whole = as_read(path, layout)
    assert whole.stamps == [ms_of(clock(2027, 2, 28, 10)), ms_of(clock(2027, 3, 1, 10))]
    assert [(line, code) for line, _, _, code in whole.problems] == [(3, "no_such_day")]


def test_nothing_is_read_before_it_is_said(tmp_path: Path) -> None:
    path = write(tmp_path / "log", HEAD + "10:00:00;1\n10:30:00;2\n")
    layout = understand(path, name="log").layout
    assert layout is not None
    assert [q.code for q in questions_left(layout)] == ["start"]
    with pytest.raises(Unreadable, match="does not say when it begins"):
        as_read(path, layout)


@pytest.mark.parametrize(
    "said", ["", "yesterday", "2026-13-01", "0001-01-01", "99999", "2026-09-15T08:00+02:00", "1e3", "\0"]
)
def test_what_is_no_date_is_not_taken(tmp_path: Path, said: str) -> None:
    with pytest.raises(ValueError, match=r"is not a date|no year that a log"):
        told(tmp_path, HEAD + "10:00:00;1\n10:30:00;2\n", said)


def test_the_next_file_has_a_start_of_its_own(tmp_path: Path) -> None:
    text = "Elapsed;CO2 (ppm)\n0;612\n1;618\n2;655\n"
    found = understand(write(tmp_path / "log", text), name="log")
    assert found.layout is not None
    settled = found.layout
    for question, said in zip(found.questions, ("%<min>", "2026-09-15T08:00"), strict=True):
        settled = answer(settled, question, said)
    carried = carry_over(found.layout, found.layout, settled)
    assert (carried.stamp_format, carried.start_ms) == ("%<min>", None)
    assert [(q.code, q.answer_kind) for q in questions_left(carried)] == [("start", "moment")]
    assert Layout.from_json(settled.to_json()) == settled


@pytest.mark.parametrize(("back", "years"), [(30, 0), (32, 1), (45, 1), (200, 1)])
def test_a_step_back_of_more_than_a_month_is_the_next_year(tmp_path: Path, back: int, years: int) -> None:
    last = clock(2026, 10, 20, 10)
    other = last - dt.timedelta(days=back)
    layout, path = told(
        tmp_path, HEAD + f"{last:%d %b %H:%M};1\n{other:%d %b %H:%M};2\n{other:%d %b %H:%M};3\n", "2026"
    )
    forwards = Layout.from_json(layout.to_json() | {"newest_first": False})
    assert as_read(path, forwards).stamps[1] == ms_of(other.replace(year=2026 + years))


def test_what_is_suggested(tmp_path: Path) -> None:
    path = write(tmp_path / "log", "Startzeit;13.03.2024 08:00\nLaufzeit [s];CO2 (ppm)\n0;612\n10;618\n")
    start = understand(path, name="log_20240314_0900.csv").questions[0]
    assert [value for value, _ in start.choices] == ["2024-03-13T08:00:00", "2024-03-14T09:00:00"]
    path = write(tmp_path / "log", HEAD + "30 Dec 10:00;1\n31 Dec 10:00;2\n")
    year = understand(path, name="log", handed_in=dt.date(2027, 1, 5)).questions[0]
    assert [value for value, _ in year.choices] == ["2026"]


def test_lines_without_names_and_a_date_in_the_name_of_the_file(tmp_path: Path) -> None:
    path = write(tmp_path / "log", "08:00:00,612\n08:01:00,618\n08:02:00,655\n")
    found = understand(path, name="2024-03-13.csv")
    assert [q.code for q in found.questions] == ["start", "parameter"]
    assert [value for value, _ in found.questions[0].choices] == ["2024-03-13"]


@pytest.mark.parametrize("foot", ["Max;55.2", "\nMin;600\nMean;604\nMax;612", "End of data;"])
@pytest.mark.parametrize("head", ["Elapsed (s)", "Laufzeit [min]", "Time (h)", "t (s)", "t [min]", "t/h"])
def test_lines_around_the_readings_hide_no_time_gone_by(tmp_path: Path, head: str, foot: str) -> None:
    rows = "".join(f"{k * 15};{600 + k}\n" for k in range(30))
    for title in ("", "Interval;60 s\n", "Channels;2\nInterval;15 s\n\n"):
        found = understand(write(tmp_path / "log", f"{title}{head};CO2 (ppm)\n{rows}{foot}\n"), name="log")
        assert [question.code for question in found.questions] == ["start"]
