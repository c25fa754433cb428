"""Taking a released revision back."""

from __future__ import annotations

from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns.access import CONSULTANTS
from campaigns.links import trail
from campaigns.models import Role
from campaigns.views.pages import RowPage
from reports.forms import ProvenForm
from reports.models import Report
from reports.services.release import NO_REASON, withdraw


class WithdrawForm(ProvenForm):
    """Whoever withdraws says why, and proves once more that it is they."""

    field_order = ("reason", "password")

    reason = forms.CharField(
        label="Why it is withdrawn",
        max_length=300,
        help_text="The client reads it in place of the report.",
        error_messages={"required": NO_REASON},
    )


class ReportWithdraw(RowPage):
    """Asks first; then people of the client read that it was withdrawn, and nothing of what it said."""

    roles: ClassVar[frozenset[Role]] = CONSULTANTS
    model = Report
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)
    template_name = "reports/report_withdraw.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask(WithdrawForm(person=self.person))

    def ask(self, form: WithdrawForm, status: int = 200) -> HttpResponse:
        report = self.found
        return self.show(
            status,
            title=f"Withdraw revision {report.revision}",
            crumbs=[*trail(report.campaign), ("Report", self.back())],
            report=report,
            form=form,
            submit_label=f"Withdraw revision {report.revision}",
            cancel_url=self.back(),
        )

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        report = self.found
        form = WithdrawForm(request.POST, person=self.person, host=request.META.get("REMOTE_ADDR", ""))
        if not form.is_valid():
            return self.ask(form, status=422)
        if withdraw(report, self.person, form.cleaned_data["reason"]):
            messages.success(request, f"Withdrawn: revision {report.revision}. The client reads that it was, and why.")
        else:
            messages.warning(request, f"Revision {report.revision} was withdrawn already.")
        return redirect(self.back())

    def back(self) -> str:
        return reverse("report", args=[self.found.campaign.key])
