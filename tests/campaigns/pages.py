"""Short ways to ask pages for things."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.test import Client
from django.urls import reverse

from campaigns.models import User

Browse = Callable[[User | None], Client]


def get(client: Client, route: str, row: Any = None, query: str = "") -> Any:
    return client.get(reverse(route, args=[row.key] if row is not None else []) + query)


def post(browser: Client, route: str, row: Any = None, /, **data: Any) -> Any:
    return browser.post(reverse(route, args=[row.key] if row is not None else []), data)


def errors(answer: Any) -> dict[str, list[str]]:
    """The messages at each field of a form that was sent back."""
    assert answer.status_code == 422, answer.status_code
    return {name: [str(message) for message in told] for name, told in answer.context["form"].errors.items()}


def text(answer: Any) -> str:
    return " ".join(answer.content.decode().split())
