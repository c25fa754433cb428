"""What whoever looks after a process asks it: whether it is alive, whether it is ready, what it has counted."""

from __future__ import annotations

from collections.abc import Callable

from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, JsonResponse

from config import metrics, readiness
from config.security import POLICY

HEALTH, READY, METRICS = "/health/", "/ready/", "/metrics/"


def health(request: HttpRequest) -> JsonResponse:
    """This process answers. Nothing else is asked: who restarts it for a database that is away helps nobody."""
    return JsonResponse({"process": "there"})


def ready(request: HttpRequest) -> JsonResponse:
    """What it stands on is there, part by part; 503 when one is not. ``?of=database,storage`` asks about those alone:
    a load balancer wants pages, though no worker is running."""
    wanted = [name for name in request.GET.get("of", "").split(",") if name] or list(readiness.PARTS)
    if unknown := [name for name in wanted if name not in readiness.PARTS]:
        return JsonResponse({"of": f"none of: {', '.join(readiness.PARTS)}", "unknown": len(unknown)}, status=400)
    parts = readiness.asked(wanted)
    status = 200 if all(part.well for part in parts.values()) else 503
    return JsonResponse({name: part.said for name, part in parts.items()}, status=status)


def counted(request: HttpRequest) -> HttpResponse:
    """For whoever shows the token; for everybody else there is nothing here."""
    if not metrics.may_read(request):
        raise Http404
    return metrics.metrics(request)


ANSWERS: dict[str, Callable[[HttpRequest], HttpResponse]] = {HEALTH: health, READY: ready, METRICS: counted}


#: What the other middleware would have said.
HEADERS = {
    "Cache-Control": "private, no-store",
    "Content-Security-Policy": POLICY,
    "Cross-Origin-Opener-Policy": "same-origin",
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
}


class AskedFirst:
    """Answers before anybody looks at the name that was asked for: who looks after a process asks it by its address."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        view = ANSWERS.get(request.path_info)
        if view is None or (view is counted and not metrics.may_read(request)):
            return self.get_response(request)  # which finds that there is nothing
        answer = view(request)
        for name, value in HEADERS.items():
            answer[name] = value
        answer._has_been_logged = True  # type: ignore[attr-defined]  # else Django writes an error at each question
        return answer
