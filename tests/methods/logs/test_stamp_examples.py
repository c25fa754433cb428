"""A format that follows from what the first stamp means: only where there is one."""

from __future__ import annotations

import pytest

from methods.logs.stamps.stamp_examples import with_example
from methods.logs.types import Column, ColumnRole, Layout
from tests.methods.logs.logs import clock, ms_of

LAYOUT = Layout("delimited", columns=(Column(0, "Time", ColumnRole.STAMP),))
APART = Layout("delimited", columns=(Column(0, "Date", ColumnRole.DATE), Column(1, "Time", ColumnRole.TIME)))


def said(layout: Layout, rows: list[list[str]], *moment: int) -> Layout:
    return with_example(layout, rows, ms_of(clock(*moment)))


@pytest.mark.parametrize("form", ["2026x08x08x{:02d}", "2026x08x08x08x{:02d}", "{:02d}x08x08x08x2026"])
def test_ways_that_part_further_down_are_refused(form: str) -> None:
    rows = [[form.format(n)] for n in range(8, 20)]
    minute = 8 * (form.count("x") == 4)
    with pytest.raises(ValueError, match=r"in more than one way, “%.*” and “%.*tells two different times"):
        said(LAYOUT, rows, 2026, 8, 8, 8, minute)


def test_ways_that_part_behind_the_shown_rows_are_refused() -> None:
    with pytest.raises(ValueError, match="in more than one way"):
        said(APART, [["2026-08-15", str(n)] for n in range(5, 9)], 2026, 8, 15, 0, 5)


def test_a_usual_way_prevails_and_the_order_stays_open() -> None:
    assert said(LAYOUT, [["2026-08-08 08:08"]], 2026, 8, 8, 8, 8).stamp_format == "%Y-%m-%d %H:%M"
    assert said(LAYOUT, [["08/08/2026 08:08"]], 2026, 8, 8, 8, 8).day_first is None
    assert said(LAYOUT, [["2026x09x15x22"], ["2026x09x15x23"]], 2026, 9, 15, 22).stamp_format == "%Yx%mx%dx%H"
