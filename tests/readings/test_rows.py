from __future__ import annotations

import sys

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readings.queries import rows
from readings.store import Batch, write

# The package's function hides the module of the same name.
rows_module = sys.modules["readings.queries.rows"]


@pytest.mark.django_db
def test_rows_are_read_while_queries_are_being_captured() -> None:
    with CaptureQueriesContext(connection):
        assert len(rows(1, 0, 10)) == 0


@pytest.mark.django_db
@pytest.mark.parametrize("block", [3, 4, 200_000])
def test_rows_are_the_same_in_whatever_blocks_they_come(monkeypatch: pytest.MonkeyPatch, block: int) -> None:
    """Twelve rows, three to a stamp: blocks end in the middle of a stamp, with the last row, and long after it."""
    monkeypatch.setattr(rows_module, "BLOCK", block)
    monkeypatch.setattr(rows_module, "BLOCKS", rows_module.BLOCKS.replace("LIMIT 200000", f"LIMIT {block}"))
    stamp, nth = np.repeat([-5, 0, 7, 9], 3), np.tile([-1, 0, 1], 4)
    raw = np.where(np.arange(12) == 5, np.nan, np.arange(12) / 3)
    flag, line = np.arange(12) % 4, np.arange(100, 112)
    write([Batch(41, 77, stamp, nth, raw, flag, line), Batch(42, 77, stamp, nth, raw + 1, flag, line)])
    found = rows(41, -5, 7)
    assert found["stamp"].tolist() == stamp[:9].tolist()
    assert found["nth"].tolist() == nth[:9].tolist()
    np.testing.assert_array_equal(found["raw"], raw[:9])
    assert found["flag"].tolist() == flag[:9].tolist()
    assert found["line"].tolist() == line[:9].tolist()
    assert set(found["upload_id"].tolist()) == {77}
    assert rows(41, 1, 8)["stamp"].tolist() == [7, 7, 7]
