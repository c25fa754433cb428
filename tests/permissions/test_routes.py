"""Every named route × everybody in the cast: what they get, and that no route is left out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

import config.urls
from campaigns.models import User
from tests.permissions import api, campaigns, layouts, readings, reports
from tests.permissions.names import names_in
from tests.permissions.table import Codes, Row
from tests.permissions.world import World

TABLE: list[Row] = [*campaigns.ROWS, *readings.ROWS, *layouts.ROWS, *reports.ROWS, *api.ROWS]
CAST = {"client": "client_person"}  # columns whose person has another name in the world


def browser(person: User | None) -> Client:
    client = Client()
    if person is not None:
        client.force_login(person)
    return client


def cast(world: World) -> Iterator[tuple[str, User | None]]:
    for column in Codes._fields:
        yield column, world[CAST.get(column, column)]


def address(row: Row, world: World) -> str:
    return reverse(row.route, kwargs={name: getattr(world[x], "key", world[x]) for name, x in row.takes.items()})


def send(client: Client, row: Row, url: str) -> int:
    """The code of the answer to a POST. Whatever it did, in the database and to the login, is undone."""
    cookies = client.cookies.output()
    with transaction.atomic():
        answer: Any = client.post(url, row.post or {})
        transaction.set_rollback(True)
    client.cookies.load(cookies.replace("Set-Cookie: ", ""))
    return int(answer.status_code)


def test_every_route_is_in_the_table() -> None:
    known = {row.route for row in TABLE}
    routes = set(names_in(config.urls.urlpatterns))
    assert routes - known == set(), "routes that nobody decided who may use"
    assert known - routes == set(), "rows of routes that are gone"


def test_no_route_is_in_the_table_twice() -> None:
    assert len(TABLE) == len({row.route for row in TABLE})


@pytest.mark.history
def test_everybody_gets_what_the_table_says(world: World) -> None:
    wrong = []
    for column, person in cast(world):
        client = browser(person)
        for row in TABLE:
            url, expected = address(row, world), getattr(row.codes, column)
            got = client.get(url).status_code if row.post is None else send(client, row, url)
            if got != expected:
                wrong.append(f"{row.route} for {column}: expected {expected}, got {got}")
    assert wrong == []


def test_what_cannot_be_read_cannot_be_sent(world: World) -> None:
    """POST gets no further than GET: to the login page, or to nothing."""
    wrong = []
    for column, person in cast(world):
        client, refused = browser(person), 302 if person is None else 404
        for row in TABLE:
            if row.post is None and getattr(row.codes, column) == refused:
                got = send(client, row, address(row, world))
                if got not in (refused, 405):
                    wrong.append(f"POST {row.route} for {column}: expected {refused}, got {got}")
    assert wrong == []
