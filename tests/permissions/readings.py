"""Who gets what on the pages of collecting."""

from __future__ import annotations

from tests.permissions.table import Row

ROWS: list[Row] = []
