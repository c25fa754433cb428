"""Saying why a report can be released although it departs from what was agreed with the client."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from campaigns import access
from reports.models import AgreementDeparture
from reports.services.departures import explain
from reports.views.release import ReportOf

REASON = "Say in up to 300 characters why the report is released all the same."


class DepartureForm(forms.Form):
    reason = forms.CharField(max_length=300)


class ReportAgreement(ReportOf):
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not access.may_add(self.person, AgreementDeparture, self.found.site.organisation_id):
            raise Http404
        form = DepartureForm(request.POST)
        if not form.is_valid():
            messages.error(request, REASON)
            return redirect("report", key=self.found.key)
        try:
            explain(self.found, form.cleaned_data["reason"], self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, "Noted with your name and the time. The report prints it.")
        return redirect("report", key=self.found.key)
