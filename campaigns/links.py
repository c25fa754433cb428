"""Where a row is shown, and the trail that leads there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.urls import reverse

from campaigns.models import Deployment, QualityRun, Record
from campaigns.naming import capital, words

Link = tuple[str, str]  # label, address

NO_KEY = UUID(int=0)

DEEDS = {"edit": "Change", "history": "History", "delete": "Delete"}


def anchor(row: Record) -> str:
    """The id of the row's place on the page that shows it."""
    return f"at-{row.key}"


def many(route: str, *before: UUID) -> Callable[[UUID], str]:
    """Addresses of one route that differ in their last key: the route is looked up once, not for each of hundreds."""
    start, _, end = reverse(route, args=[*before, NO_KEY]).rpartition(str(NO_KEY))
    return lambda key: f"{start}{key}{end}"


def address(row: Any) -> str:
    """Where the row is shown: its own page, or its place on the page of what it is part of."""
    if row.page_route:
        return reverse(row.page_route, args=[row.key])
    if isinstance(row, Deployment):
        return f"{reverse('deployments', args=[row.campaign.key])}#{anchor(row)}"
    if isinstance(row, QualityRun):
        return f"{reverse('quality', args=[row.campaign.key])}#{anchor(row)}"
    parent = row.lies_in
    if parent is None:
        return f"{reverse(row.list_route)}#{anchor(row)}"
    return f"{address(parent).partition('#')[0]}#{anchor(row)}"


def is_key(text: str) -> bool:
    """Whether ``text`` could be a row's key."""
    try:
        UUID(text)
    except ValueError:
        return False
    return True


def list_link(model: type[Record]) -> Link:
    return capital(words(model, 2)), reverse(model.list_route)


def trail(row: Record | None) -> list[Link]:
    """From the list down to and including ``row``."""
    if row is None:
        return []
    parent = row.lies_in
    before = trail(parent) if parent is not None else [list_link(type(row))]
    return [*before, (str(row), address(row))]


def trail_above(row: Record) -> list[Link]:
    """From the list down to what ``row`` is part of."""
    return trail(row)[:-1]


def deeds(row: Any, *ends: str) -> list[dict[str, Any]]:
    """Links to what can be done with a row: "edit", "history", "delete"."""
    start = route_word(type(row))
    return [{"label": DEEDS[end], "url": reverse(f"{start}-{end}", args=[row.key])} for end in ends]


def route_word(model: Any) -> str:
    """How routes name the model."""
    return getattr(model, "route_word", "") or str(model._meta.verbose_name).replace(" ", "-")
