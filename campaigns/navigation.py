"""What the navigation of every page offers, by role."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest
from django.urls import reverse

from campaigns.access import CONSULTANTS, STAFF, memberships
from campaigns.models import Role, User

#: (label, route, roles that are offered it, path that counts as being there)
ENTRIES = (
    ("Campaigns", "home", STAFF, "/campaigns/"),
    ("Sites", "sites", STAFF, "/sites/"),
    ("Instruments", "instruments", STAFF, "/instruments/"),
    ("Limits", "limits", STAFF, "/limits/"),
    ("Work", "jobs", STAFF, "/work/"),
    ("People", "people", CONSULTANTS, "/people/"),
    ("Findings", "released", frozenset({Role.CLIENT}), "/findings/"),
)


def context(request: HttpRequest) -> dict[str, Any]:
    user = getattr(request, "user", None)
    if not isinstance(user, User):
        return {"nav": []}
    roles = {m.role for m in memberships(user)}
    return {
        "nav": [
            {"label": label, "url": reverse(route), "current": request.path.startswith(path)}
            for label, route, allowed, path in ENTRIES
            if roles & allowed
        ]
    }
