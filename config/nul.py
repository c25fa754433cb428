"""PostgreSQL keeps U+0000 in no text: asked for it, it ends in an error. (In a path it is found nowhere: 404.)"""

from __future__ import annotations

from collections.abc import Callable

from django.core.exceptions import BadRequest
from django.http import HttpRequest, HttpResponseBase


class NoNul:
    """Whoever asks for one in a query is told that it cannot be read (400)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if "%00" in request.META.get("QUERY_STRING", ""):
            raise BadRequest("U+0000 in the query.")
        return self.get_response(request)
