"""What is answered when a view has failed: 503 where something it stands on is away, 500 where it is our fault."""

from __future__ import annotations

import sys

from django.db import InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template.loader import render_to_string

#: Seconds after which to ask again.
AGAIN_S = 10
AWAY = "The database does not answer at the moment."
BROKEN = "Something went wrong on the server; its log has the details."


def server_error(request: HttpRequest, template_name: str = "500.html") -> HttpResponse:
    """Answers without the database: the page has no navigation, programs get JSON."""
    if isinstance(sys.exc_info()[1], (OperationalError, InterfaceError)):
        answer = _answer(request, 503, "503.html", AWAY)
        answer["Retry-After"] = str(AGAIN_S)
        return answer
    return _answer(request, 500, template_name, BROKEN)


def _answer(request: HttpRequest, status: int, template: str, message: str) -> HttpResponse:
    if request.path.startswith("/api/"):
        return JsonResponse({"detail": message}, status=status)
    return HttpResponse(render_to_string(template), status=status)
