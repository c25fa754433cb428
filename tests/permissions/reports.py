"""Who gets what on the pages of judging and telling."""

from __future__ import annotations

from tests.permissions.table import Row

ROWS: list[Row] = []
