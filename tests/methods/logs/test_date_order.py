"""Which part of a date comes first, where three implementations of it used to disagree."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.stamps.date_order import (
    DAY_FIRST,
    MONTH_FIRST,
    YEAR_FIRST,
    is_undecided,
    order_of,
    orders,
    orders_of,
    with_order,
)
from methods.logs.types import Column, ColumnRole, Layout
from tests.methods.logs.test_understanding import sniff


def a_layout(form: str, day_first: bool | None = None) -> Layout:
    return Layout(
        reader="delimited",
        columns=(Column(0, "Time", ColumnRole.STAMP), Column(1, "CO2", ColumnRole.VALUE, "co2", "ppm")),
        stamp_format=form,
        day_first=day_first,
    )


@pytest.mark.parametrize(
    ("form", "order"),
    [
        ("%d/%m/%Y", DAY_FIRST),
        ("%m/%d/%Y %H:%M", MONTH_FIRST),
        ("%y-%m-%d", YEAR_FIRST),
        ("%H:%M %d.%m.%y", DAY_FIRST),
        ("%I:%M %p %m/%d/%Y", MONTH_FIRST),
        # where the former three differed: by the first of %d, %m and %y alone these were month first
        ("%Y-%m-%d", YEAR_FIRST),
        ("%Y/%m/%d\t%H:%M", YEAR_FIRST),
        ("%H:%M %Y-%m-%d", YEAR_FIRST),
        # … and this was day first
        ("%Y.%d.%m", YEAR_FIRST),
        # a month by its name, and what is no date, had a first part in two of them (day first) or raised in one
        ("%d %b %Y", ""),
        ("%b %d, %Y", ""),
        ("%H:%M:%S", ""),
        ("epoch_s", ""),
        ("", ""),
    ],
)
def test_the_first_part(form: str, order: str) -> None:
    assert order_of(form) == order


@pytest.mark.parametrize("form", ["%d/%m/%Y", "%m/%d/%Y", "%d.%m.%y", "%m.%d.%y", "%y.%m.%d", "%H:%M %y-%m-%d"])
def test_every_order_on_offer_can_be_chosen_and_is_then_the_order(form: str) -> None:
    layout = a_layout(form)
    offered = orders_of(layout)
    assert len(offered) == len(set(offered)) == len(orders(form)) > 1
    for order in offered:
        settled = with_order(layout, order)
        assert order_of(settled.stamp_format) == order
        assert settled.day_first is (order == DAY_FIRST)
        assert not is_undecided(settled)


@pytest.mark.parametrize("form", ["%Y-%m-%d", "%Y.%d.%m", "%d %b %Y", "%H:%M", "epoch_ms", ""])
def test_no_other_order_can_be_chosen_where_it_is_beyond_doubt(form: str) -> None:
    assert not is_undecided(a_layout(form))
    wrong = DAY_FIRST if order_of(form) != DAY_FIRST else MONTH_FIRST
    with pytest.raises(ValueError, match="not written in this order"):
        with_order(a_layout(form), wrong)


@pytest.mark.parametrize("form", ["%y-%m-%d", "%y-%m-%d %H:%M", "%H:%M %y-%m-%d"])
def test_a_short_year_in_front_was_chosen_wherever_it_stands(form: str) -> None:
    """The last of these used to count as open: only the very first characters of the format were looked at."""
    assert not is_undecided(a_layout(form))


def test_dates_that_are_written_in_two_ways_are_asked_about_as_those_that_most_lines_have(tmp_path: Path) -> None:
    stamps = [f"09/{day:02}/2026" if day % 4 else f"{day + 10}.09.2026" for day in range(1, 12)]
    found = sniff(tmp_path, "Time;CO2 (ppm)\n" + "".join(f"{stamp} 08:00;600\n" for stamp in stamps))
    (question,) = found.questions
    assert (
        question.message == "Dates like “09/01/2026 08:00” can be read in more than one order: which part comes first?"
    )
