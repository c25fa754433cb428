"""Every named route × everybody in the cast: what they get, and that no route is left out."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

import config.urls
from campaigns.models import User
from tests.permissions import api, campaigns, readings, reports
from tests.permissions.names import names_in
from tests.permissions.table import Codes, Row
from tests.permissions.world import World

TABLE: list[Row] = [*campaigns.ROWS, *readings.ROWS, *reports.ROWS, *api.ROWS]
CAST = {"client": "client_person"}  # columns whose person has another name in the world


def address(row: Row, world: World) -> str:
    return reverse(row.route, kwargs={name: getattr(world[x], "key", world[x]) for name, x in row.takes.items()})


def ask(person: User | None, row: Row, url: str, *, post: bool) -> int:
    """The code of the answer. Whatever it did is undone."""
    client = Client(raise_request_exception=True)
    if person is not None:
        client.force_login(person)
    with transaction.atomic():
        answer: Any = client.post(url, row.post or {}) if post else client.get(url)
        transaction.set_rollback(True)
    return int(answer.status_code)


def test_every_route_is_in_the_table() -> None:
    known = {row.route for row in TABLE}
    routes = set(names_in(config.urls.urlpatterns))
    assert routes - known == set(), "routes that nobody decided who may use"
    assert known - routes == set(), "rows of routes that are gone"


def test_no_route_is_in_the_table_twice() -> None:
    assert len(TABLE) == len({row.route for row in TABLE})


@pytest.mark.parametrize("column", Codes._fields)
def test_everybody_gets_what_the_table_says(column: str, world: World) -> None:
    person = world[CAST.get(column, column)]
    wrong = []
    for row in TABLE:
        expected = getattr(row.codes, column)
        got = ask(person, row, address(row, world), post=row.post is not None)
        if got != expected:
            wrong.append(f"{row.route}: expected {expected}, got {got}")
    assert wrong == []


@pytest.mark.parametrize("column", ["anonymous", "stranger", "client", "field_staff"])
def test_what_cannot_be_read_cannot_be_sent(column: str, world: World) -> None:
    """POST gets no further than GET: to the login page, or to nothing."""
    person = world[CAST.get(column, column)]
    wrong = []
    for row in TABLE:
        refused = getattr(row.codes, column)
        if row.post is None and refused == (302 if person is None else 404):
            got = ask(person, row, address(row, world), post=True)
            if got not in (refused, 405):
                wrong.append(f"POST {row.route}: expected {refused}, got {got}")
    assert wrong == []
