"""What only the whole file tells, when it is seen in more than one block."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs import understand
from methods.logs.survey import BLOCK_LINES
from tests.methods.logs.logs import write


@pytest.mark.parametrize("at", [0, BLOCK_LINES - 1, BLOCK_LINES + 500])
def test_one_line_settles_the_order_of_all_blocks(tmp_path: Path, at: int) -> None:
    """Whatever the later blocks leave open."""
    days = ["01/02/2026"] * (BLOCK_LINES + 1000)
    days[at] = "13/02/2026"
    lines = "".join(f"{day} 09:{n // 60 % 60:02d}:{n % 60:02d};612\n" for n, day in enumerate(days))
    found = understand(write(tmp_path / "log", f"Time;CO2 (ppm)\n{lines}"), name="log")
    assert [question.code for question in found.questions if question.code == "day_or_month"] == []
    assert found.layout is not None
    assert found.layout.day_first is True
