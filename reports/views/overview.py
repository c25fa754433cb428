"""Two ways to look over a whole campaign: guideline sets side by side, and summaries of groups of results."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse

from campaigns.links import trail
from campaigns.models import Campaign
from campaigns.pages.chosen_criteria import chosen_of, options, pick
from campaigns.services.alert_levels import level_words
from campaigns.views.pages import RowPage
from methods.wording.cautions import cautions
from reports.pages import group_summaries, guideline_sets


class SideBySide(RowPage):
    """Zones down, criteria across."""

    model = Campaign
    template_name = "reports/guideline_sets.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        criteria = chosen_of(campaign)
        groups = guideline_sets.groups(criteria)
        rows = guideline_sets.rows(campaign, groups) if groups else []
        return self.show(
            title="Side by side",
            subtitle="Every zone by every criterion, set by set.",
            crumbs=trail(campaign),
            campaign=campaign,
            groups=groups,
            rows=rows,
            reasons=guideline_sets.reasons(rows),
            cautions=cautions(
                {chosen.limit.parameter for chosen in criteria},
                workplace=any(chosen.limit.workplace for chosen in criteria),
                levels=level_words(campaign),
            ),
        )


class Summaries(RowPage):
    """Groups of results by one criterion, with results below detection."""

    model = Campaign
    template_name = "reports/group_summaries.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        criteria = chosen_of(campaign)
        current = pick(criteria, request.GET.get("criterion"))
        return self.show(
            title="Summaries",
            subtitle="What groups of results say together, results below detection included.",
            crumbs=trail(campaign),
            campaign=campaign,
            options=options(criteria, current),
            current=current,
            told=group_summaries.told(campaign, current) if current else None,
            columns=group_summaries.COLUMNS,
        )
