"""The alert levels of a campaign: chosen with one click, added, changed, switched off and on."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.forms.alert_levels import AlertLevelForm
from campaigns.links import Link, deeds, trail
from campaigns.models import AlertLevel, Campaign
from campaigns.pages import alert_levels as page
from campaigns.services import alert_levels, mail_server
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import AddPage, EditPage, HistoryPage, RowPage

CAUTION = (
    "These levels are no limits and no proof of safety: below them nobody is told, and no more is meant. They do not "
    "replace an alarm that sounds in the room, nor the local rules for emergencies.",
)


def back_to(campaign: Campaign) -> str:
    return reverse("alert-levels", args=[campaign.key])


def crumbs_of(campaign: Campaign) -> list[Link]:
    return [*trail(campaign), ("Alert levels", back_to(campaign))]


class AlertLevels(RowPage):
    model = Campaign
    template_name = "campaigns/alert_levels.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        may_change = access.may_add(self.person, AlertLevel, campaign.site.organisation_id)
        levels = page.levels(campaign)
        add = {"label": "Add a level of your own", "url": reverse("alert-level-add", args=[campaign.key])}
        return self.show(
            title="Alert levels",
            subtitle="Values at which people are told at once, as soon as a log is read. None holds until it is "
            "chosen.",
            crumbs=trail(campaign),
            campaign=campaign,
            levels=levels,
            unsent=not mail_server.is_set() and any(line.row.is_on and line.row.told for line in levels),
            offered=[offer for offer in alert_levels.offered(campaign) if not offer.chosen] if may_change else [],
            may_change=may_change,
            cautions=CAUTION,
            actions=[add] if may_change else [],
        )


class AlertLevelChoose(RowPage):
    """Take an offered level with one click."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        if not access.may_add(self.person, AlertLevel, organisation_id_of(campaign)):
            raise Http404
        try:
            level = alert_levels.choose(campaign, request.POST.get("level", ""), self.person)
        except ValidationError as refused:
            messages.error(request, refused.messages[0])
        else:
            messages.success(request, f"Chosen: {level}. You are told; change the level to name others.")
        return redirect(back_to(campaign))


class AlertLevelAdd(AddPage):
    model, form_class = AlertLevel, AlertLevelForm
    parent, parent_field = Campaign, "campaign"
    cautions = CAUTION

    def heading(self, row: Any) -> dict[str, Any]:
        return super().heading(row) | {"crumbs": crumbs_of(self.owner), "cancel_url": back_to(self.owner)}

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: {row}.")
        return redirect(back_to(row.campaign))


class AlertLevelEdit(EditPage):
    model, form_class = AlertLevel, AlertLevelForm
    cautions = CAUTION
    related: ClassVar[tuple[str, ...]] = ("campaign__site",)

    def heading(self, row: Any) -> dict[str, Any]:
        return super().heading(row) | {"crumbs": crumbs_of(row.campaign), "cancel_url": back_to(row.campaign)}

    def actions(self, row: Any) -> list[dict[str, Any]]:
        return deeds(row, "history")

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: {row}.")
        return redirect(back_to(row.campaign))


class AlertLevelSwitch(RowPage):
    """Off, or on again."""

    model = AlertLevel
    act = "change"
    related: ClassVar[tuple[str, ...]] = ("campaign",)
    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        level = alert_levels.switch(self.found, on=request.POST.get("on") == "yes")
        messages.success(request, f"{level}: {'on' if level.is_on else 'off. Alerts raised before stay'}.")
        return redirect(back_to(self.found.campaign))


class AlertLevelHistory(HistoryPage):
    model = AlertLevel

    def crumbs(self) -> list[Link]:
        return crumbs_of(self.found.campaign)
