"""How many queries the pages of a campaign ask: as committed, whatever the number of rooms and readings."""

from __future__ import annotations

import json

import pytest

from tests.bench.house import LARGER, SMALL, Size, build, judge, release
from tests.bench.pages import COMMITTED, counts, logins


@pytest.mark.django_db
@pytest.mark.parametrize("size", [SMALL, LARGER], ids=lambda size: f"{size.rooms} rooms, {size.lines} lines")
def test_pages_ask_as_many_queries_as_committed(size: Size) -> None:
    house = build(size)
    judge(house)
    release(house)
    found = counts(house, logins(house))
    committed = json.loads(COMMITTED.read_text(encoding="utf-8"))
    assert found == committed, "python -m tests.bench.pages > tests/bench/queries.json"
