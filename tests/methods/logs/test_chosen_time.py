"""Two columns of time, one of them in UTC: the stamps are on the clock of the one that is chosen."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.layouts.layout_answers import answer
from methods.logs.layouts.layout_corrections import carry_over
from methods.logs.types import LOCAL, UTC, Layout
from tests.methods.logs.test_understanding import sniff


def chosen(tmp_path: Path, names: tuple[str, str], wanted: str, above: str = "") -> Layout:
    rows = "".join(f"2026-11-15 13:0{k}:00,2026-11-15 14:0{k}:00,73{k}\n" for k in range(9))
    found = sniff(tmp_path, f"{above}{','.join(names)},CO2 (ppm)\n{rows}")
    assert found.layout is not None
    (question,) = (q for q in found.questions if q.code == "stamp_column")
    choice = next(value for value, words in question.choices if words.startswith(wanted))
    return answer(found.layout, question, choice)


@pytest.mark.parametrize("names", [("UTC time", "Local time"), ("Local time", "UTC time"), ("Time", "UTC time")])
@pytest.mark.parametrize("at", [0, 1])
def test_the_zone_is_that_of_the_column(tmp_path: Path, names: tuple[str, str], at: int) -> None:
    layout = chosen(tmp_path, names, names[at])
    assert (layout.basis, layout.utc_offset) == ((UTC, 0) if "UTC" in names[at] else (LOCAL, None))


def test_what_a_line_above_says_holds_for_a_time_that_is_not_local(tmp_path: Path) -> None:
    above = "Time zone: UTC+2\n"
    assert chosen(tmp_path, ("Start time", "End time"), "End", above).utc_offset == 120
    assert chosen(tmp_path, ("Start time", "Local time"), "Local", above).utc_offset is None


def test_it_holds_for_the_next_file(tmp_path: Path) -> None:
    names = ("UTC time", "Local time")
    settled, fresh = chosen(tmp_path, names, "Local"), sniff(tmp_path, (tmp_path / "log").read_text()).layout
    assert fresh is not None
    assert carry_over(fresh, fresh, settled).utc_offset is None
