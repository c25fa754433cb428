from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from readings.queries import rows


@pytest.mark.django_db
def test_rows_are_read_while_queries_are_being_captured() -> None:
    with CaptureQueriesContext(connection):
        assert len(rows(1, 0, 10)) == 0
