"""Alerts of a campaign, and what people answer to one: acknowledged and noted by anybody who works here, closed by a
consultant."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.links import Link, trail, trail_above
from campaigns.models import AlertLevel, Campaign
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import HistoryPage, RowPage
from methods.wording.alerts import CAUTION
from readings.forms.alerts import CloseForm, DoneForm
from readings.models import Alert
from readings.pages import alerts as page
from readings.services.alerts import answers

SEEN = "Acknowledged, with your name and the time."


class Alerts(RowPage):
    model = Campaign
    template_name = "readings/alerts.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        return self.show(
            title="Alerts",
            subtitle="When a level of this campaign was reached, who was told, and what was done.",
            crumbs=trail(campaign),
            campaign=campaign,
            alerts=page.of_campaign(campaign),
            caution=CAUTION,
            levels_on=campaign.alert_levels.filter(is_on=True).count(),
            actions=[{"label": "Alert levels", "url": reverse("alert-levels", args=[campaign.key])}],
        )


class OfAlert(RowPage):
    model = Alert
    template_name = "readings/alert.html"
    related: ClassVar[tuple[str, ...]] = (
        "campaign__site", "level", "channel__instrument", "upload", "acknowledged_by", "closed_by", "typed_by",
    )  # fmt: skip

    @property
    def may_close(self) -> bool:
        return access.may_add(self.person, AlertLevel, organisation_id_of(self.found))

    def crumbs(self) -> list[Link]:
        campaign = self.found.campaign
        return [*trail_above(self.found), ("Alerts", reverse("alerts", args=[campaign.key]))]

    def ask(self, status: int = 200, **filled: forms.Form) -> HttpResponse:
        alert = self.found
        return self.show(
            status=status,
            title=page.title_of(alert),
            kicker="Alert",
            subtitle=f"{alert.campaign.site.name}, {alert.where}",
            crumbs=self.crumbs(),
            alert=alert,
            state=page.state_of(alert),
            facts=page.facts(alert),
            answers=page.answers(alert),
            notices=page.notice_lines(alert),
            untold=alert.notices.filter(told_at__isnull=True).count(),
            caution=f"{alert.advice} {CAUTION}".strip(),
            may_close=self.may_close,
            done_form=filled.get("done") or DoneForm(initial={"done": alert.done}),
            close_form=filled.get("close") or CloseForm(),
        )


class AlertPage(OfAlert):
    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask()


class AlertAnswer(OfAlert):
    """Something that a person answers: done by a service, which may refuse."""

    act = "change"
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def answered(self, answer: Callable[[], Any], words: str) -> HttpResponse:
        try:
            answer()
        except ValidationError as refused:
            messages.error(self.request, refused.messages[0])
        else:
            messages.success(self.request, words)
        return redirect("alert", key=self.found.key)


class AlertAcknowledge(AlertAnswer):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.answered(lambda: answers.acknowledge(self.found, self.person), SEEN)


class AlertNote(AlertAnswer):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = DoneForm(request.POST)
        if not form.is_valid():
            return self.ask(status=422, done=form)
        return self.answered(lambda: answers.note(self.found, form.cleaned_data["done"], self.person), "Noted.")


class AlertClose(AlertAnswer):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if not self.may_close:
            raise Http404
        form = CloseForm(request.POST)
        if not form.is_valid():
            return self.ask(status=422, close=form)
        return self.answered(lambda: answers.close(self.found, form.cleaned_data["reason"], self.person), "Closed.")


class AlertTell(AlertAnswer):
    """Have the mails sent that could not be."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.answered(lambda: answers.tell_again(self.found, self.person), "The mails are sent again.")


class AlertHistory(HistoryPage):
    model = Alert
