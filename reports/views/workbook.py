"""The workbook of a campaign's results."""

from __future__ import annotations

from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponse

from campaigns import access
from campaigns.models import Campaign
from campaigns.views.pages import RowPage
from reports.models import Finding, Result
from reports.pages.workbook import TYPE, workbook
from reports.services.freezing.agreements import agreed_of
from reports.services.freezing.alerts import alerts_of


class ResultsWorkbook(RowPage):
    model = Campaign
    related: ClassVar[tuple[str, ...]] = ("site",)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        campaign = self.found
        results = access.visible(self.person, Result).filter(criterion__campaign=campaign)
        findings = access.visible(self.person, Finding).filter(criterion__campaign=campaign)
        content = workbook(
            campaign,
            results.select_related("criterion__limit", "point__room", "deployment__instrument"),
            findings.select_related("criterion__limit", "zone__floor"),
            agreed_of(campaign),
            alerts_of(campaign),
        )
        response = HttpResponse(content, content_type=TYPE)
        response["Content-Disposition"] = f'attachment; filename="results-{campaign.starts_on}.xlsx"'
        return response
