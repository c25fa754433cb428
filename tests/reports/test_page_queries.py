"""How many queries the pages of a campaign ask: as committed, whatever the number of rooms and readings."""

from __future__ import annotations

import json

import pytest

from tests.bench.house import LARGER, SMALL, Size, build, judge
from tests.bench.pages import COMMITTED, counts, login


@pytest.mark.django_db
@pytest.mark.parametrize("size", [SMALL, LARGER], ids=lambda size: f"{size.rooms} rooms, {size.lines} lines")
def test_pages_ask_as_many_queries_as_committed(size: Size) -> None:
    house = build(size)
    judge(house)
    found = counts(house, login(house))
    assert found == json.loads(COMMITTED.read_text(encoding="utf-8")), "see tests/bench/pages.py --small"
