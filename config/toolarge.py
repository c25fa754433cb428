"""Requests that are too large get an answer that helps, before anything of them is parsed."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.shortcuts import render

#: What a form may weigh besides its file.
AROUND_THE_FILE = 4 * 1024 * 1024


class TooLarge:
    """Answers 413 with words: as JSON to scripts, as a page to people."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not length.isdecimal() or int(length) <= settings.UPLOAD_MAX_BYTES + AROUND_THE_FILE:
            return self.get_response(request)
        message = (
            f"This is {int(length) / 1e6:.0f} MB; files up to {settings.UPLOAD_MAX_BYTES / 1e6:.0f} MB are taken. "
            "Export a shorter period, hand in files one by one, or ask the operator to raise FANLIGHT_UPLOAD_MAX_MB."
        )
        if "application/json" in request.headers.get("Accept", ""):
            return JsonResponse({"message": message}, status=413)
        return render(request, "413.html", {"title": "Too large", "message": message}, status=413)
