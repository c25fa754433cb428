"""Sites, and what they are made of: buildings, floors, zones, rooms, points."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.db.models import Count, Prefetch, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from campaigns import access, history
from campaigns.forms import places as forms
from campaigns.links import address, list_link, trail
from campaigns.models import Building, Campaign, Floor, FloorPlan, Room, SamplingPoint, Site, Zone
from campaigns.views import row_wording
from campaigns.views.pages import AddOwnPage, AddPage, DeletePage, EditPage, HistoryPage, ListPage, Page, RowPage
from methods.quantities.digits import as_entered


class Sites(ListPage):
    model = Site
    title = "Sites"
    caption = "Where is measured."
    columns = [{"label": "Site"}, {"label": "Client"}, {"label": "Address"}, {"label": "Campaigns", "num": True}]
    empty = (
        "No sites yet",
        "A site is a place with one address and one clock. Start with the one in question.",
    )

    def rows(self) -> Any:
        return super().rows().select_related("client").annotate(campaign_count=Count("campaigns"))

    def cells(self, row: Any) -> list[Any]:
        return [{"text": row.name, "url": address(row)}, row.client or "–", row.address or "–", row.campaign_count]


class SitePage(RowPage):
    """The site, and everything in it as one tree."""

    model = Site
    template_name = "campaigns/site.html"
    related = ("client",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        site = self.found
        return self.show(
            title=site.name,
            kicker="Site",
            crumbs=[list_link(Site)],
            site=site,
            facts=self.facts(site),
            buildings=self.buildings(site),
            outdoor=access.visible(self.person, SamplingPoint).filter(site=site, room__isnull=True),
            campaigns=access.visible(self.person, Campaign).filter(site=site),
            may_change=self.may_change,
            actions=self.actions(site),
        )

    def facts(self, site: Site) -> list[tuple[str, Any]]:
        return [
            ("Client", site.client or "–"),
            ("Address", site.address or "–"),
            ("Time zone", site.time_zone),
            ("Altitude", f"{as_entered(site.altitude_m)} m"),
            *([("Notes", site.notes)] if site.notes else []),
        ]

    def buildings(self, site: Site) -> QuerySet[Building]:
        """The tree in a constant number of queries."""
        points = access.visible(self.person, SamplingPoint)
        rooms = access.visible(self.person, Room).prefetch_related(Prefetch("points", points))
        zones = access.visible(self.person, Zone).prefetch_related(Prefetch("rooms", rooms))
        floors = access.visible(self.person, Floor).prefetch_related(Prefetch("zones", zones))
        return access.visible(self.person, Building).filter(site=site).prefetch_related(Prefetch("floors", floors))

    def actions(self, site: Site) -> list[dict[str, Any]]:
        first = {"label": "Plan a campaign", "url": reverse("campaign-add", args=[site.key]), "primary": True}
        return [first, *self.deeds()] if self.may_change else self.deeds()


class SiteAdd(AddOwnPage):
    model, form_class = Site, forms.SiteForm


class SiteEdit(EditPage):
    model, form_class = Site, forms.SiteForm


class SiteDelete(DeletePage):
    model = Site


class SiteHistory(HistoryPage):
    model = Site


class BuildingAdd(AddPage):
    model, form_class = Building, forms.BuildingForm
    parent, parent_field = Site, "site"


class BuildingEdit(EditPage):
    model, form_class = Building, forms.BuildingForm


class BuildingDelete(DeletePage):
    model = Building


class BuildingHistory(HistoryPage):
    model = Building


class FloorAdd(AddPage):
    model, form_class = Floor, forms.FloorForm
    parent, parent_field = Building, "building"


class FloorEdit(EditPage):
    model, form_class = Floor, forms.FloorForm


class FloorDelete(DeletePage):
    model = Floor


class FloorHistory(HistoryPage):
    """With the changes of its plan image and scale, which have no page of their own."""

    model = Floor

    def entries(self) -> list[dict[str, Any]]:
        plan = FloorPlan.objects.filter(floor=self.found).first()
        plans = row_wording.entries(plan, history.of(plan)) if plan else []
        return sorted([*super().entries(), *plans], key=lambda entry: str(entry["when"]), reverse=True)


class ZoneAdd(AddPage):
    model, form_class = Zone, forms.ZoneForm
    parent, parent_field = Floor, "floor"


class ZoneEdit(EditPage):
    model, form_class = Zone, forms.ZoneForm


class ZoneDelete(DeletePage):
    model = Zone


class ZoneHistory(HistoryPage):
    model = Zone


class RoomAdd(AddPage):
    model, form_class = Room, forms.RoomForm
    parent, parent_field = Zone, "zone"


class RoomsAdd(Page):
    """Several rooms of a zone at once."""

    template_name = "campaigns/form.html"

    def get(self, request: HttpRequest, key: Any) -> HttpResponse:
        zone = self.zone(key)
        return self.ask(zone, forms.RoomsForm(zone=zone))

    def post(self, request: HttpRequest, key: Any) -> HttpResponse:
        zone = self.zone(key)
        form = forms.RoomsForm(request.POST, zone=zone)
        count = form.stored()
        if not count:
            return self.ask(zone, form, status=422)
        messages.success(request, f"Saved: {count} {'room' if count == 1 else 'rooms'} in {zone}.")
        return redirect(address(zone))

    def zone(self, key: Any) -> Zone:
        """Who may change a zone may fill it with rooms."""
        return access.find(self.person, Zone, key, act="change")

    def ask(self, zone: Zone, form: forms.RoomsForm, status: int = 200) -> HttpResponse:
        crumbs, back = trail(zone), address(zone)
        return self.show(status=status, title="Several rooms", form=form, crumbs=crumbs, cancel_url=back)


class RoomEdit(EditPage):
    model, form_class = Room, forms.RoomForm


class RoomDelete(DeletePage):
    model = Room


class RoomHistory(HistoryPage):
    model = Room


class PointAdd(AddPage):
    model, form_class = SamplingPoint, forms.PointForm
    parent, parent_field = Room, "room"


class OutdoorPointAdd(AddPage):
    model, form_class = SamplingPoint, forms.PointForm
    parent, parent_field = Site, "site"
    thing = "outdoor point"


class PointEdit(EditPage):
    model, form_class = SamplingPoint, forms.PointForm


class PointDelete(DeletePage):
    model = SamplingPoint


class PointHistory(HistoryPage):
    model = SamplingPoint
