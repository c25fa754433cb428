"""Saying why a report can be released although a question about a clock is open."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from campaigns import access
from campaigns.forms.texts import SeenText
from campaigns.models import Instrument
from readings.models import ClockQuestionLeft
from readings.services.clock_questions import leave_open
from reports.views.release import ReportOf

REASON = "Say in up to 300 characters why the report can be released all the same."


class ClockLeftForm(SeenText, forms.Form):
    instrument = forms.UUIDField(widget=forms.HiddenInput)
    reason = forms.CharField(max_length=300)


class ReportClock(ReportOf):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not access.may_add(self.person, ClockQuestionLeft, self.found.site.organisation_id):
            raise Http404
        form = ClockLeftForm(request.POST)
        if not form.is_valid():
            unseen = form.errors.as_data().get("reason", []) if form.has_error("reason", "unseen") else []
            messages.error(request, str(unseen[0].messages[0]) if unseen else REASON)
            return redirect("report", key=self.found.key)
        instrument = access.visible(self.person, Instrument).filter(key=form.cleaned_data["instrument"]).first()
        if instrument is None:
            raise Http404
        try:
            leave_open(self.found, instrument, form.cleaned_data["reason"], self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "Noted with your name and the time. The report prints it.")
        return redirect("report", key=self.found.key)
