"""What the navigation of every page offers, by role."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from campaigns.access import CONSULTANTS, STAFF, memberships
from campaigns.models import Role, User

#: (label, route, roles that are offered it, paths that count as being there)
ENTRIES = (
    ("Campaigns", "campaigns", STAFF, ("/campaigns/", "/deployments/")),
    ("Sites", "sites", STAFF, ("/sites/", "/buildings/", "/floors/", "/zones/", "/rooms/", "/points/")),
    (
        "Instruments",
        "instruments",
        STAFF,
        ("/instruments/", "/instrument-types/", "/channels/", "/calibrations/", "/field-checks/", "/clock-checks/"),
    ),
    ("Limits", "limits", STAFF, ("/limits/",)),
    ("Work", "jobs", STAFF, ("/work/",)),
    ("People", "people", CONSULTANTS, ("/people/", "/clients/", "/tokens/")),
    ("Findings", "released", frozenset({Role.CLIENT}), ("/findings/",)),
)


def context(request: HttpRequest) -> dict[str, Any]:
    """``nav``: list of (label, address, whether the page is there)."""
    user = getattr(request, "user", None)
    if not isinstance(user, User):
        return {"nav": []}
    roles = {m.role for m in memberships(user)}
    return {
        "nav": [
            (label, reverse(route), request.path.startswith(paths))
            for label, route, allowed, paths in ENTRIES
            if roles & allowed
        ]
    }
