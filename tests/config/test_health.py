"""Whether this process can do its work: yes or no, to anybody, and nothing else."""

from __future__ import annotations

from unittest.mock import patch

import pytest
from django.db import OperationalError, connection
from django.test import Client

pytestmark = pytest.mark.django_db


def test_the_database_is_there(client: Client) -> None:
    answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (200, {"database": "there", "space": "enough"})


def test_the_database_is_away(client: Client) -> None:
    with patch.object(connection, "cursor", side_effect=OperationalError("could not connect to db.example as me")):
        answer = client.get("/health/")
    assert (answer.status_code, answer.json()) == (503, {"database": "away"})
    assert "db.example" not in answer.content.decode(), "where it is, is nobody's business"


def test_it_is_asked_each_time_and_leaves_no_session(client: Client) -> None:
    answer = client.get("/health/")
    assert answer["Cache-Control"] == "private, no-store"
    assert not answer.cookies
