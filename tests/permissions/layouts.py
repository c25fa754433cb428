"""Who gets what on the pages that show how files are read."""

from __future__ import annotations

from tests.permissions.table import CONSULTANT, OWN_STAFF, STAFF, Row, added, on

ROWS = [
    on("upload-layout", "upload", STAFF),
    Row("layouts", OWN_STAFF),
    *added("layout", "saved_layout"),
    on("look-first", "organisation", CONSULTANT),
]
