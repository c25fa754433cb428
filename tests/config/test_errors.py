"""A view that failed: whose fault it is, and an answer that needs no database."""

from __future__ import annotations

import json
from collections.abc import Callable
from unittest.mock import patch

import pytest
from django.db import InterfaceError, OperationalError
from django.test import Client


@pytest.fixture
def asked(client: Client) -> Callable[..., tuple[int, str]]:
    def ask(path: str, error: Exception) -> tuple[int, str]:
        client.raise_request_exception = False
        with patch("django.core.handlers.base.BaseHandler.resolve_request", side_effect=error):
            answer = client.get(path)
        assert ("Retry-After" in answer) is (answer.status_code == 503)
        return answer.status_code, answer.content.decode()

    return ask


@pytest.mark.parametrize("error", [OperationalError("db.example is away"), InterfaceError("gone")])
def test_a_database_that_is_away_is_said(asked: Callable[..., tuple[int, str]], error: Exception) -> None:
    status, said = asked("/campaigns/", error)
    assert status == 503
    assert "The database does not answer" in said
    assert "db.example" not in said
    assert json.loads(asked("/api/v1/sites/", error)[1]) == {"detail": "The database does not answer at the moment."}


def test_our_own_fault_is_another(asked: Callable[..., tuple[int, str]]) -> None:
    status, said = asked("/campaigns/", ArithmeticError())
    assert status == 500
    assert "Something went wrong on the server" in said
    assert json.loads(asked("/api/v1/sites/", ArithmeticError())[1])["detail"].startswith("Something went wrong")
