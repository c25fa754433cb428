"""What a row of the permission table is.

One row per named route. ``codes`` are what each of the cast gets on GET (on POST for routes that only take POST):
302 for anonymous is the way to the login page; 404 is "there is nothing here", for strangers and for members whose
role may not do it alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple


class Codes(NamedTuple):
    anonymous: int
    stranger: int
    client: int
    field_staff: int
    consultant: int


#: Rows of this organisation.
STAFF = Codes(302, 404, 404, 200, 200)
CONSULTANT = Codes(302, 404, 404, 404, 200)
#: Pages without a key: a stranger is a consultant of another house and sees that house.
OWN_STAFF = Codes(302, 200, 404, 200, 200)
OWN_CONSULTANT = Codes(302, 200, 404, 404, 200)
EVERYBODY = Codes(200, 200, 200, 200, 200)
LOGGED_IN = Codes(302, 200, 200, 200, 200)


@dataclass(frozen=True)
class Row:
    """route: its name. takes: keyword of the address → name in the world (tests/permissions/world.py), whose ``key``
    is taken where it has one. post: what to send, for routes that only take POST."""

    route: str
    codes: Codes
    takes: Mapping[str, str] = field(default_factory=dict)
    post: Mapping[str, str] | None = None


def on(route: str, thing: str, codes: Codes, post: Mapping[str, str] | None = None) -> Row:
    """A route with the key of one thing in its address."""
    return Row(route, codes, {"key": thing}, post)


def added(name: str, thing: str) -> list[Row]:
    """What field staff add and change, and consultants alone delete."""
    return [
        on(f"{name}-edit", thing, STAFF),
        on(f"{name}-delete", thing, CONSULTANT),
        on(f"{name}-history", thing, STAFF),
    ]


def kept(name: str, thing: str, codes: Codes = CONSULTANT) -> list[Row]:
    """Change and delete for those who may, history for staff."""
    return [on(f"{name}-edit", thing, codes), on(f"{name}-delete", thing, codes), on(f"{name}-history", thing, STAFF)]
