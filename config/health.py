"""Whether this process can do its work: asked by load balancers and docker, tells nothing else."""

from __future__ import annotations

from collections.abc import Callable

from django.db import DatabaseError, connection
from django.http import HttpRequest, HttpResponseBase, JsonResponse

PATH = "/health/"


class AskedFirst:
    """Answers before anybody looks at the name that was asked for: who looks after a process asks it by its address."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.path_info != PATH:
            return self.get_response(request)
        answer = health(request)
        answer["Cache-Control"] = "private, no-store"
        return answer


def health(request: HttpRequest) -> JsonResponse:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except DatabaseError:
        return JsonResponse({"database": "away"}, status=503)
    return JsonResponse({"database": "there"})
