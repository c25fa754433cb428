"""The page of one number: what it is, what it may be compared with, how sure it is, and where it comes from."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.links import trail
from campaigns.models import Campaign
from campaigns.pages.chosen_criteria import Chosen
from campaigns.pages.use import UseOffer, offer_for
from campaigns.services.alert_levels import level_words
from campaigns.views.pages import RowPage
from methods.figures import budget_bars
from methods.wording.cautions import cautions
from reports.models import Result
from reports.pages import provenance, result_window
from reports.pages.result_facts import budget_table, facts, limit_facts, outdoor_facts
from reports.services.result_values import is_without_timetable, value_of

BUDGET = [
    {"label": "Part"},
    {"label": "Standard uncertainty", "num": True},
    {"label": "Share of the variance", "num": True},
    {"label": "Where the figure comes from"},
]
PAGE_SIZE = 20


class ResultPage(RowPage):
    model = Result
    template_name = "reports/result.html"
    related: ClassVar[tuple[str, ...]] = (
        "criterion__limit",
        "criterion__campaign__site",
        "point__room__zone__floor__building",
        "deployment__instrument",
        "deployment__point__room",
        "deployment__campaign",
    )

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        result = self.found
        campaign, limit = result.criterion.campaign, result.criterion.limit.as_library()
        chosen = Chosen(result.criterion, limit)
        return self.show(
            title=f"{result.criterion.limit.parameter_name} at {result.point}",
            kicker="Result",
            crumbs=self.crumbs(),
            result=result,
            value=value_of(result),
            limit=limit,
            limit_row=result.criterion.limit,
            limit_facts=limit_facts(chosen, campaign.site.organisation_id),
            facts=facts(result, chosen),
            budget=budget_table(result),
            budget_columns=BUDGET,
            figure=budget_bars(result.budget_parts, result.unit) if result.budget_parts else None,
            outdoor=outdoor_facts(result),
            cautions=cautions([limit.parameter], workplace=limit.workplace, levels=level_words(campaign)),
            use_offer=self.use_offer(campaign),
            **self.readings(chosen),
        )

    def use_offer(self, campaign: Campaign) -> UseOffer | None:
        """Where only a timetable of use is missing, and the person may enter one."""
        room = self.found.point.room
        if room is None or not is_without_timetable(self.found) or not access.may_change(self.person, campaign):
            return None
        return offer_for(campaign, room.zone)

    def crumbs(self) -> list[tuple[str, str]]:
        campaign, room = self.found.criterion.campaign, self.found.point.room
        if room is None:
            return trail(campaign)
        query = f"?criterion={self.found.criterion.key}"
        return [*trail(campaign), (room.zone.name, reverse("zone", args=[campaign.key, room.zone.key]) + query)]

    def readings(self, chosen: Chosen) -> dict[str, Any]:
        """The stay as a figure, the readings of the window, a page of them, and the chain of the one asked for."""
        traced = provenance.readings_of(self.found)
        if traced is None:
            return {}
        zone = self.found.criterion.campaign.site.zone_info
        n = self.asked(len(traced), traced.highest())
        pages = Paginator(range(len(traced)), PAGE_SIZE)
        page = pages.get_page(self.request.GET.get("page", n // PAGE_SIZE + 1))
        return {
            "course": result_window.figure_of(self.found, chosen, traced, zone),
            "course_said": result_window.said(self.found, value_of(self.found)),
            "chain": provenance.chain(self.found, traced, n, zone),
            "chosen_reading": n,
            "page_obj": page,
            "page_query": f"&reading={n}#readings",
            "readings": provenance.rows(traced, zone, list(page)),
            "readings_columns": provenance.COLUMNS,
            "unit": traced.unit,
        }

    def asked(self, count: int, otherwise: int) -> int:
        text = self.request.GET.get("reading", "")
        return min(int(text), count - 1) if text.isdecimal() and len(text) < 9 else otherwise
