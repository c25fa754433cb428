"""Where a row is shown, and the trail that leads there."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.db.models import Model
from django.urls import reverse

from campaigns import models as m
from campaigns.words import capital, words

Link = tuple[str, str]  # label, address

#: The attribute that leads to the row above, for rows that have one.
PARENTS: dict[type[Model], str] = {
    m.Building: "site",
    m.Floor: "building",
    m.Zone: "floor",
    m.Room: "zone",
    m.ChannelSpec: "instrument_type",
    m.ClockCheck: "instrument",
    m.ClockReset: "instrument",
    m.Deployment: "campaign",
}

#: Lists at which the trails start.
LISTS: dict[type[Model], str] = {
    m.Site: "sites",
    m.Instrument: "instruments",
    m.InstrumentType: "instrument-types",
    m.Campaign: "campaigns",
    m.Client: "clients",
    m.Membership: "people",
    m.ApiToken: "tokens",
}

#: Rows that have a page of their own.
PAGES: dict[type[Model], str] = {
    m.Site: "site",
    m.Instrument: "instrument",
    m.InstrumentType: "instrument-type",
    m.Campaign: "campaign",
}

NO_KEY = UUID(int=0)

DEEDS = {"edit": "Change", "history": "History", "delete": "Delete"}


def above(row: Any) -> Model | None:
    """The row that ``row`` is part of."""
    if isinstance(row, m.SamplingPoint):
        return row.room or row.site
    if isinstance(row, m.Calibration | m.FieldCheck):
        return row.channel.instrument
    parent = PARENTS.get(type(row))
    return getattr(row, parent) if parent else None


def anchor(row: Model) -> str:
    """The id of the row's place on the page that shows it."""
    return f"at-{row.key}"  # type: ignore[attr-defined]


def many(route: str, *before: UUID) -> Callable[[UUID], str]:
    """Addresses of one route that differ in their last key: the route is looked up once, not for each of hundreds."""
    start, _, end = reverse(route, args=[*before, NO_KEY]).rpartition(str(NO_KEY))
    return lambda key: f"{start}{key}{end}"


def address(row: Any) -> str:
    """Where the row is shown: its own page, or its place on the page of what it is part of."""
    if type(row) in PAGES:
        return reverse(PAGES[type(row)], args=[row.key])
    if isinstance(row, m.Deployment):
        return f"{reverse('deployments', args=[row.campaign.key])}#{anchor(row)}"
    parent = above(row)
    if parent is None:
        return f"{reverse(LISTS[type(row)])}#{anchor(row)}"
    return f"{address(parent).partition('#')[0]}#{anchor(row)}"


def is_key(text: str) -> bool:
    """Whether ``text`` could be a row's key."""
    try:
        UUID(text)
    except ValueError:
        return False
    return True


def list_link(model: type[Model]) -> Link:
    return capital(words(model, 2)), reverse(LISTS[model])


def trail(row: Model | None) -> list[Link]:
    """From the list down to and including ``row``."""
    if row is None:
        return []
    parent = above(row)
    before = trail(parent) if parent is not None else [list_link(type(row))]
    return [*before, (str(row), address(row))]


def trail_above(row: Model) -> list[Link]:
    """From the list down to what ``row`` is part of."""
    return trail(row)[:-1]


def deeds(row: Any, *ends: str) -> list[dict[str, Any]]:
    """Links to what can be done with a row: "edit", "history", "delete"."""
    start = route_word(type(row))
    return [{"label": DEEDS[end], "url": reverse(f"{start}-{end}", args=[row.key])} for end in ends]


def route_word(model: type[Model]) -> str:
    """How routes name the model."""
    return ROUTE_WORDS.get(model) or str(model._meta.verbose_name).replace(" ", "-")


ROUTE_WORDS: dict[type[Model], str] = {
    m.SamplingPoint: "point",
    m.ChannelSpec: "channel",
    m.Membership: "person",
    m.ApiToken: "token",
}
