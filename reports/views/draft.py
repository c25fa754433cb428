"""Reading a report as the client will, before it is signed: for those who may release it."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse

from campaigns import access
from campaigns.access import CONSULTANTS
from campaigns.links import trail
from campaigns.models import Campaign, Role
from reports.content.places import ReportedZone
from reports.content.record import SignedContent
from reports.models import Report
from reports.pages.report_overview import ReportOverview, in_short
from reports.services.drafts import Draft, DraftBusy, draft_of, draft_pdf
from reports.views.released import ReleasedReport, ReleasedZone, ReportPage

AGAIN_S = 10
BUSY = f"Another draft is being set. Try again in {AGAIN_S} seconds."


class DraftPage(ReportPage):
    """A page of the campaign whose content is what would be frozen now."""

    roles: ClassVar[frozenset[Role]] = CONSULTANTS

    @cached_property
    def found(self) -> Any:
        related = ("site__organisation", "site__client")
        campaign = access.find(self.person, Campaign, self.kwargs["key"], act="change", related=related)
        if not access.may_add(self.person, Report, campaign.site.organisation_id):
            raise Http404
        return campaign

    @cached_property
    def draft(self) -> Draft:
        return draft_of(self.found)

    @property
    def content(self) -> SignedContent:
        return self.draft.content

    def standing(self) -> dict[str, Any]:
        return {"draft": self.draft.digest}

    def tell(self, **context: Any) -> HttpResponse:
        status = f"Draft of revision {self.content.revision}, not signed"
        return self.render_to_response(self.get_context_data(status=status, **context, **self.standing()))

    def changed(self) -> Any:
        return []

    def crumbs(self) -> list[tuple[str, str]]:
        return [*trail(self.found), ("Report", reverse("report", args=[self.found.key]))]


class DraftReport(DraftPage, ReleasedReport):
    zone_route, pdf_route, pdf_label = "report-draft-zone", "report-draft-pdf", "The draft as a PDF"

    def overview(self, ref: str | None) -> ReportOverview:
        return in_short(self.content.buildings, ref)


class DraftZone(DraftPage, ReleasedZone):
    report_route = "report-draft"

    def zone(self) -> ReportedZone | None:
        return next((zone for zone in self.content.zones if zone.key == str(self.kwargs["zone"])), None)


class DraftPdf(DraftPage):
    """Set on demand and kept nowhere."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            document = draft_pdf(self.found)
        except DraftBusy:
            headers = {"Retry-After": str(AGAIN_S)}
            return HttpResponse(BUSY, status=503, content_type="text/plain; charset=utf-8", headers=headers)
        answer = HttpResponse(document, content_type="application/pdf")
        answer["Content-Disposition"] = 'inline; filename="draft-not-signed.pdf"'
        return answer
