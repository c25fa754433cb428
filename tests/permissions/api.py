"""Who gets what on the pages of the API."""

from __future__ import annotations

from tests.permissions.table import Row

ROWS: list[Row] = []
