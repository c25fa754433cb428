"""The zone page, and its figures, which are fetched when they come near."""

from __future__ import annotations

import json
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.models import Campaign, Zone
from campaigns.parameters import PARAMETERS
from campaigns.views.pages import RowPage
from campaigns.views.where import trail
from reports.panels import zone as panel
from reports.panels.cautions import cautions
from reports.panels.chosen import chosen_of, options, pick
from reports.panels.courses import drawn


class InZone(RowPage):
    """What is about one zone of the campaign's site. A zone of another site is not there."""

    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    @cached_property
    def zone(self) -> Zone:
        found = access.find(self.person, Zone, self.kwargs["zone_key"], related=("floor__building",))
        if found.floor.building.site_id != self.found.site_id:
            raise Http404
        return found


class ZonePage(InZone):
    template_name = "reports/zone.html"

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID) -> HttpResponse:
        campaign, zone = self.found, self.zone
        criteria = chosen_of(campaign)
        current = pick(criteria, request.GET.get("criterion"))
        found = panel.measured_in(campaign, zone, current)
        parameter = current.limit.parameter if current else None
        context: dict[str, Any] = {
            "title": zone.name,
            "kicker": "Zone",
            "subtitle": "; ".join(filter(None, [str(zone.floor), zone.use, zone.ventilation])),
            "crumbs": trail(campaign),
            "campaign": campaign,
            "zone": zone,
            "current": current,
            "options": options(criteria, current),
            "deployments": found.deployments,
            "series": self.series_url(parameter) if found.deployments and current else "",
            "conditions": [self.series_url(code) for code in panel.conditions(found.deployments, parameter)],
            "findings": panel.findings_table(criteria, found),
            "findings_columns": panel.FINDINGS,
            "points_columns": panel.POINTS,
            "cautions": cautions(
                {one.limit.parameter for one in criteria}, workplace=any(one.limit.workplace for one in criteria)
            ),
        }
        if current is not None:
            context["finding"] = found.findings.get(current.criterion.pk)
            air = [r for r in found.results if r.point.kind == panel.ROOM_AIR]
            beside = [r for r in found.results if r.point.kind != panel.ROOM_AIR] + found.outdoor
            context["points"] = panel.points_table(current, air, campaign)
            context["beside"] = panel.points_table(current, beside, campaign)
        return self.show(**context)

    def series_url(self, parameter: str | None) -> str:
        asked = f"?criterion={key}" if (key := self.request.GET.get("criterion")) else ""
        return reverse("zone-series", args=[self.found.key, self.zone.key, parameter]) + asked


class ZoneSeries(InZone):
    """The figures of one parameter, as a piece of the zone page."""

    template_name = "reports/parts/series.html"

    def get(self, request: HttpRequest, key: UUID, zone_key: UUID, parameter: str) -> HttpResponse:
        if parameter not in PARAMETERS:
            raise Http404
        criteria = chosen_of(self.found)
        current = pick(criteria, request.GET.get("criterion"))
        if current is not None and current.limit.parameter != parameter:
            current = next((one for one in criteria if one.limit.parameter == parameter), None)
        found = drawn(self.found, self.zone, parameter, criteria, current)
        figures = [(json.dumps(figure), caption, said) for figure, caption, said in found.figures]
        return self.show(
            figures=figures,
            unit=found.unit,
            refused=found.refused,
            parameter=parameter,
            name=PARAMETERS[parameter].name,
            low=current is None,
        )
