"""Who gets what on the pages that show how files are read."""

from __future__ import annotations

from tests.permissions.table import CONSULTANT, OWN_STAFF, STAFF, Row, kept, on

ROWS = [
    on("upload-layout", "upload", STAFF),
    Row("layouts", OWN_STAFF),
    *kept("layout", "saved_layout", STAFF),
    on("look-first", "organisation", CONSULTANT),
]
