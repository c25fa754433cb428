"""The real addresses, and a stand-in for a route of another app that planning pages link to, while it is missing."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path

from config.urls import urlpatterns as real
from tests.permissions.names import names_in


def elsewhere(request: HttpRequest, **_: Any) -> HttpResponse:
    return HttpResponse("served by another app")


NEEDED = {
    "campaign": "campaigns/<uuid:key>/",
    "criteria": "campaigns/<uuid:key>/criteria/",
    "uploads": "campaigns/<uuid:key>/uploads/",
    "limits": "limits/",
    "released": "findings/",
}
HELD = set(names_in(real))
urlpatterns = [*real, *(path(route, elsewhere, name=name) for name, route in NEEDED.items() if name not in HELD)]
