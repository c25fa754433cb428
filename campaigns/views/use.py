"""When places are in use: one page for a campaign, and what can be done with each timetable."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access
from campaigns.forms.use import UseTimetableForm
from campaigns.links import address, is_key, trail
from campaigns.models import Building, Campaign, Record, UseTimetable, Zone
from campaigns.pages import use as page
from campaigns.pages.chosen_criteria import chosen_of
from campaigns.services import use_timetables
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import AddPage, DeletePage, EditPage, HistoryPage, Page, RowPage


class UsePage(RowPage):
    """Which hours count as occupied, place by place."""

    model = Campaign
    template_name = "campaigns/use.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        return self.show(
            title="Time of use",
            subtitle="When people are there. Limits for occupied or working time are averaged over it.",
            crumbs=trail(campaign),
            campaign=campaign,
            asking=page.asking(chosen_of(campaign)),
            lines=page.lines(campaign),
            zone=campaign.site.time_zone,
            may_change=self.may_change,
        )


class FromUsePage(Page):
    """Leads back to the page of the campaign from which it was asked for, named in the address."""

    def back(self, row: Any) -> str:
        """Where ``row`` is shown, where no campaign is named that the person may see."""
        key = self.request.GET.get("campaign", "")
        own = row.campaign if isinstance(row, UseTimetable) else row if isinstance(row, Campaign) else None
        if own is None and is_key(key):
            own = access.visible(self.person, Campaign).filter(key=key).first()
        return reverse("use", args=[own.key]) if own else address(row)


class UseAdd(FromUsePage, AddPage):
    model, form_class = UseTimetable, UseTimetableForm

    def heading(self, row: Any) -> dict[str, Any]:
        return {**super().heading(row), "kicker": str(self.owner), "cancel_url": self.back(self.owner)}

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: time of use of {row.lies_in}.")
        return redirect(self.back(row))


class CampaignUseAdd(UseAdd):
    parent, parent_field = Campaign, "campaign"


class BuildingUseAdd(UseAdd):
    parent, parent_field = Building, "building"


class ZoneUseAdd(UseAdd):
    parent, parent_field = Zone, "zone"


class UseEdit(FromUsePage, EditPage):
    model, form_class = UseTimetable, UseTimetableForm

    def heading(self, row: Any) -> dict[str, Any]:
        return {**super().heading(row), "cancel_url": self.back(row)}

    def done(self, row: Any) -> HttpResponse:
        messages.success(self.request, f"Saved: time of use of {row.lies_in}.")
        return redirect(self.back(row))


class UseDelete(FromUsePage, DeletePage):
    model = UseTimetable

    def after(self) -> str:
        return self.back(self.found)


class UseHistory(HistoryPage):
    model = UseTimetable


class UseAssume(FromUsePage):
    """Take the usual hours of a kind of place, marked as assumed."""

    http_method_names: ClassVar[list[str]] = ["post"]  # type: ignore[misc]
    place: ClassVar[type[Record]]

    def post(self, request: HttpRequest, key: Any) -> HttpResponse:
        place: Any = access.find(self.person, self.place, key)
        if not access.may_add(self.person, UseTimetable, organisation_id_of(place)):
            raise Http404
        try:
            kind = use_timetables.kind_or_refused(request.POST.get("kind", ""))
            use_timetables.assume([(place, kind)], self.person)
        except ValidationError as refused:
            messages.error(request, " ".join(refused.messages))
        else:
            messages.success(request, f"Assumed: the usual time of use of such a place ({kind.label.lower()}).")
        return redirect(self.back(place))


class CampaignUseAssume(UseAssume):
    place = Campaign


class BuildingUseAssume(UseAssume):
    place = Building


class ZoneUseAssume(UseAssume):
    place = Zone
