"""The zone page. Its figures are fetched when they come near: ``zone_figures``."""

from __future__ import annotations

from collections.abc import Collection
from functools import cached_property
from typing import Any, ClassVar
from urllib.parse import urlencode
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.links import trail
from campaigns.models import Campaign, Zone
from campaigns.pages.chosen_criteria import Chosen, chosen_of, pick
from campaigns.pages.use import offer_for
from campaigns.services.alert_levels import level_words
from campaigns.services.limits_library import checks_in
from campaigns.views.pages import RowPage
from methods.quantities.substances import SUBSTANCES
from methods.wording.cautions import cautions
from reports.models import Finding, Result
from reports.pages import overdue, rooms
from reports.pages import zone as panel
from reports.services.quality.told import disagreements_in

#: What the figures show, by the word for it in the address: (label, route).
VIEWS: dict[str, tuple[str, str]] = {
    "time": ("Over time", "zone-series"),
    "spread": ("Distribution", "zone-spread"),
    "outdoor": ("Against outdoor air", "zone-outdoor"),
    "conditions": ("With temperature and humidity", "zone-conditions"),
    "together": ("Correlation", "zone-together"),
    "points": ("Point against point", "zone-points"),
}
USUAL = "time"
#: What an address of the page may carry.
ASKED = ("criterion", "parameter", "view", "axis", "against")


class InZone(RowPage):
    """What is about one zone of the campaign's site. A zone of another site is not there."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    @cached_property
    def zone(self) -> Zone:
        zone = access.find(self.person, Zone, self.kwargs["zone_key"], related=("floor__building",))
        if zone.floor.building.site_id != self.found.site_id:
            raise Http404
        return zone

    @cached_property
    def criteria(self) -> list[Chosen]:
        return chosen_of(self.found)

    @cached_property
    def asked(self) -> dict[str, str]:
        return {name: value for name in ASKED if (value := self.request.GET.get(name))}

    def link(self, **changes: str) -> str:
        """The page with something else asked for, at its figures."""
        query = urlencode({**self.asked, **changes})
        return reverse("zone", args=[self.found.key, self.zone.key]) + f"?{query}#figures"


class ZonePage(InZone):
    template_name = "reports/zone.html"

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID) -> HttpResponse:
        campaign, zone = self.found, self.zone
        current = pick(self.criteria, self.asked.get("criterion"))
        zone_measured = panel.measured_in(campaign, zone, current)
        measured = panel.parameters(zone_measured.deployments)
        parameter = self.parameter(current, measured)
        context: dict[str, Any] = {
            "title": zone.name,
            "kicker": "Zone",
            "subtitle": "; ".join(filter(None, [str(zone.floor), zone.use, zone.ventilation])),
            "crumbs": trail(campaign),
            "campaign": campaign,
            "zone": zone,
            "current": current,
            "options": self.criterion_options(current),
            "parameter_options": self.parameter_options(measured, parameter),
            "deployments": zone_measured.deployments,
            "measured": bool(zone_measured.deployments or zone_measured.findings or zone_measured.results),
            "series": self.piece(parameter) if zone_measured.deployments and parameter else "",
            "views": [(label, self.link(view=view), view == self.view) for view, (label, _) in VIEWS.items()],
            "view_label": VIEWS[self.view][0],
            "findings": panel.findings_table(self.criteria, zone_measured, self.checked()),
            "findings_columns": panel.FINDINGS,
            "points_columns": panel.POINTS,
            "disagreements": disagreements_in(campaign, str(zone.key)),
            "cautions": cautions(
                {chosen.limit.parameter for chosen in self.criteria},
                workplace=any(chosen.limit.workplace for chosen in self.criteria),
                levels=level_words(campaign),
            ),
        }
        context["of_criteria"] = rooms.of_criteria(campaign, self.criteria, zone_measured.findings)
        if current is not None:
            context |= self.by_criterion(current, zone_measured)
        return self.show(**context)

    def by_criterion(self, current: Chosen, zone_measured: panel.ZoneMeasurements) -> dict[str, Any]:
        finding = zone_measured.findings.get(current.criterion.pk)
        beside = [r for r in zone_measured.results if r.point.kind != panel.ROOM_AIR] + zone_measured.outdoor
        parameter, every = current.limit.parameter, [*zone_measured.results, *zone_measured.outdoor]
        late = overdue.overdue_of(every, parameter, self.found.site.zone_info)
        told: dict[str, Any] = {
            "finding": finding,
            "in_use": panel.in_use(finding),
            "points": panel.points_table(current, zone_measured.room_air, self.found, late),
            "meters": [
                *overdue.sentences_of(late, zone_measured.results, parameter),
                *panel.meters(zone_measured.results),
            ],
            "beside": panel.points_table(current, beside, self.found, late),
        }
        if panel.lacks_timetable(finding) and self.may_change:
            told["use_offer"] = offer_for(self.found, self.zone)
        return told if finding is None else told | self.rooms(finding, current, zone_measured.room_air)

    def rooms(self, finding: Finding, current: Chosen, room_air: list[Result]) -> dict[str, Any]:
        return {
            "rooms": rooms.table(finding, room_air),
            "rooms_columns": rooms.COLUMNS,
            "rooms_counted": rooms.counted(finding),
            "chances": rooms.among(self.found, current.limit, [finding]),
        }

    @property
    def view(self) -> str:
        view = self.asked.get("view", USUAL)
        if view not in VIEWS:
            raise Http404
        return view

    def parameter(self, current: Chosen | None, measured: list[str]) -> str:
        """What the figures are about: what was asked for, what the criterion is about, or whatever was measured."""
        if asked := self.asked.get("parameter"):
            if asked not in SUBSTANCES:
                raise Http404
            return asked
        return current.limit.parameter if current else next(iter(measured), "")

    def criterion_options(self, current: Chosen | None) -> list[tuple[str, str, bool]]:
        """Another criterion keeps the view, and leads back to its own parameter."""
        kept = {"view": self.view} if self.view != USUAL else {}
        return [
            (chosen.label, "?" + urlencode({"criterion": str(chosen.criterion.key), **kept}), chosen is current)
            for chosen in self.criteria
        ]

    def parameter_options(self, measured: list[str], shown: str) -> list[tuple[str, str, bool]]:
        """For what was measured and no criterion is about; with what the criterion is about to lead back."""
        judged = {chosen.limit.parameter for chosen in self.criteria}
        if not set(measured) - judged:
            return []
        codes = dict.fromkeys([*(code for code in measured if code in judged), *measured])
        return [(SUBSTANCES[code].name, self.link(parameter=code), code == shown) for code in codes]

    def checked(self) -> Collection[int]:
        """Limits that are held against their document in this house; asked only where one needs to be."""
        open_ones = [chosen.criterion.limit_id for chosen in self.criteria if chosen.limit.needs_check]
        return checks_in(self.found.site.organisation_id, open_ones) if open_ones else ()

    def piece(self, parameter: str) -> str:
        address = reverse(VIEWS[self.view][1], args=[self.found.key, self.zone.key, parameter])
        asked = {name: value for name, value in self.asked.items() if name != "view"}
        return f"{address}?{urlencode(asked)}" if asked else address
