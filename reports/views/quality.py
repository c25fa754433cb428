"""Quality control of a campaign: the table, and what each of its numbers rests on."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.links import trail
from campaigns.models import AcceptanceLimit, Campaign, QualityRun
from campaigns.services.ownership import organisation_id_of
from campaigns.views.pages import RowPage
from reports.pages import quality as page
from reports.services.quality.told import QualityTold


class QualityPage(RowPage):
    model = Campaign
    template_name = "reports/quality.html"
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        told = QualityTold.of(campaign)
        measured = told.measured
        return self.show(
            title="Quality control",
            subtitle="Meters side by side, duplicates, zero air, checks over time, and how complete it is.",
            crumbs=trail(campaign),
            actions=self.actions(campaign),
            campaign=campaign,
            disagreements=told.disagreements + told.unlike,
            columns=page.TABLE,
            rows=page.table(told.rows, page.details_address(campaign)),
            runs=page.runs(campaign),
            may_enter=access.may_add(self.person, QualityRun, organisation_id_of(campaign)),
            beside=page.beside(measured),
            beside_columns=page.BIASES,
            pair_columns=page.PAIRS,
            duplicates=page.duplicates(measured.duplicates),
            duplicate_columns=page.DUPLICATES,
            together=page.together(measured),
            together_columns=page.TOGETHER,
            zeros=page.zeros(measured),
            zero_columns=page.ZEROS,
            complete=page.complete(measured),
            complete_columns=page.COMPLETE,
            charts=page.charts(measured),
            check_columns=page.CHECKS,
            drifts=page.drifts(measured),
            drift_columns=page.DRIFTS,
        )

    def actions(self, campaign: Campaign) -> list[dict[str, Any]]:
        links: list[dict[str, Any]] = []
        organisation = organisation_id_of(campaign)
        if access.may_add(self.person, QualityRun, organisation):
            url = reverse("quality-run-add", args=[campaign.key])
            links += [
                {"label": "Add a side-by-side run", "url": url, "primary": True},
                {"label": "Add a zero run", "url": f"{url}?kind={QualityRun.Kind.ZERO.value}"},
            ]
        if access.may_add(self.person, AcceptanceLimit, organisation):
            links.append({"label": "Acceptance limits", "url": reverse("acceptance", args=[campaign.key])})
        return links
