"""A person says why logs that lag each other do so without a clock being off."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect

from campaigns.views.pages import RowPage
from readings.models import ClockLag
from readings.services.clock_questions import settle


class ClockLagSettle(RowPage):
    model = ClockLag
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("instrument",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            settle(self.found, request.POST.get("reason", ""), self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "Noted with your name and the time. Its readings are judged again.")
        return redirect("instrument-clock", key=self.found.instrument.key)
