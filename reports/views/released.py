"""What a client reads: released findings, from the content of the report and from nothing else."""

from __future__ import annotations

import logging
from functools import cached_property
from typing import Any, ClassVar
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.text import slugify

from campaigns import access
from campaigns.links import many
from campaigns.models import Agreement, Job, Role
from campaigns.pages.agreement import AgreementVersion, version_of
from campaigns.services.workers import NO_WORKER, beating
from campaigns.views.pages import Page, RowPage
from reports.content.canonical import canonical
from reports.content.limits import ReportedCriterion
from reports.content.places import ReportedZone
from reports.content.record import SignedContent
from reports.job_kinds import MAKE_PDF
from reports.models import Report
from reports.pages import content_cache, quality, released_report
from reports.pages.changed_since import changed_since
from reports.pages.released_list import listed, valid_instead, withdrawal_words
from reports.pages.released_zone import zone_findings
from reports.pages.report_overview import ReportOverview
from reports.queries.withdrawn import withdrawn_from
from reports.services.release import ask_for_pdf, pdf_of

log = logging.getLogger(__name__)
Context = dict[str, Any]

#: So many cautions stand beside the verdicts; all of them stand with the method.
BESIDE = 2


class Released(Page):
    """All released campaigns that the person may read, the newest revision of each."""

    roles: ClassVar[frozenset[Role]] = frozenset(Role)
    template_name = "reports/released/list.html"

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.show(
            title="Findings",
            subtitle="What has been released to you, as it was signed.",
            agreements=self.agreements(),
            reports=listed(self.person),
        )

    def agreements(self) -> list[AgreementVersion]:
        """For people of a client: the latest offered version of each campaign, and where that one was not accepted also
        the one that counts. Others find them on its page."""
        clients = [held.client_id for held in access.memberships(self.person) if held.role == Role.CLIENT]
        rows = access.visible(self.person, Agreement).filter(client__in=clients, offered_at__isnull=False)
        latest: dict[int, list[AgreementVersion]] = {}
        for row in rows.select_related("campaign__site", "answered_by").order_by("-offered_at", "-version"):
            held = latest.setdefault(row.campaign_id, [])
            accepted = any(version.row.state == Agreement.State.ACCEPTED for version in held)
            if not held or (row.state == Agreement.State.ACCEPTED and not accepted):
                held.append(version_of(row, row.campaign.site.zone_info))
        return [version for held in latest.values() for version in held]


class ReportPage(RowPage):
    """A page about one report: of the house, or released to the person's client."""

    roles: ClassVar[frozenset[Role]] = frozenset(Role)
    model = Report

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Who could read what was withdrawn since is told that it was (410, RFC 9110, 15.5.11)."""
        try:
            return super().dispatch(request, *args, **kwargs)
        except Http404:
            if request.method != "GET" or not request.user.is_authenticated:
                raise
            gone = withdrawn_from(self.person).select_related("campaign__site").filter(key=kwargs["key"]).first()
            if gone is None or access.visible(self.person, Report).filter(pk=gone.pk).exists():
                raise
            return self.withdrawn(gone)

    def withdrawn(self, report: Report) -> HttpResponse:
        self.template_name = "reports/released/withdrawn.html"
        return self.show(
            status=410,
            title="Withdrawn",
            kicker=report.campaign.site.name,
            subtitle=report.campaign.name,
            crumbs=self.crumbs(),
            words=withdrawal_words(report),
            newest=valid_instead(self.person, report).first(),
        )

    @cached_property
    def found(self) -> Report:
        """Without its content, of which each page reads its own piece."""
        rows = access.visible(self.person, Report).select_related("campaign__site").defer("content")
        return get_object_or_404(rows, key=self.kwargs["key"])

    @cached_property
    def content(self) -> SignedContent:
        """Without the buildings."""
        return content_cache.frame_of(self.found)

    def standing(self) -> Context:
        """Whether this is the revision to go by, and where that one is."""
        later = self.found.campaign.reports.filter(revision__gt=self.found.revision, released_at__isnull=False)
        newest = access.visible(self.person, Report).filter(pk__in=later.filter(withdrawn_at__isnull=True))
        # People of a client do not see a withdrawn revision, but that there was one concerns them.
        replaced = later.filter(withdrawn_at__isnull=False, client=self.found.client_id).exists()
        return {
            "newest": newest.defer("content").order_by("-revision").first(),
            "replaced_by_withdrawn": replaced,
            "withdrawn": withdrawal_words(self.found) if self.found.withdrawn_at else "",
        }

    def tell(self, **context: Any) -> HttpResponse:
        """Render with what every page of a report says of itself."""
        signature = self.content.signature
        status = f"Revision {self.content.revision}, signed by {signature.name} on {signature.day}"
        return self.render_to_response(self.get_context_data(status=status, **context, **self.standing()))

    def changed(self) -> Any:
        """What was done to its logs since."""
        return changed_since(self.found, self.content.files, self.person)

    def crumbs(self) -> list[tuple[str, str]]:
        return [("Findings", reverse("released"))]


class ReleasedReport(ReportPage):
    template_name = "reports/released/report.html"
    zone_route, pdf_route, pdf_label = "released-zone", "report-pdf", "The report as a PDF"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        content = self.content
        current = released_report.pick(content, request.GET.get("limit"))
        overview = self.overview(current.ref if current else None)
        return self.tell(
            title=content.site.name,
            kicker="Findings",
            subtitle=content.campaign.name,
            crumbs=self.crumbs(),
            actions=[{"label": self.pdf_label, "url": reverse(self.pdf_route, args=[self.found.key])}],
            report=self.found,
            content=content,
            changed=self.changed(),
            cautions=content.cautions[:BESIDE],
            unmeasured=list(released_report.unmeasured(overview, current)),
            **quality.reported(content),
            current=current,
            tally=released_report.tally(content, current) if current else [],
            options=released_report.options(content, current) if len(content.criteria) > 1 else [],
            **(self.drawn(overview, current) if current else {}),
            **(self.ranked(overview, current) if current else {}),
        )

    def overview(self, ref: str | None) -> ReportOverview:
        return content_cache.whole_against(self.found, ref)

    def ranked(self, overview: ReportOverview, current: ReportedCriterion) -> Context:
        limit = released_report.limit_text(current)
        return {
            "limit_text": limit,
            "ranking": released_report.ranking(overview, self.link),
            "ranking_columns": released_report.COLUMNS,
            "ranking_caption": f"{current.name} against {limit}. What concerns most comes first.",
        }

    @cached_property
    def link(self) -> released_report.Link:
        address, query = many(self.zone_route, self.found.key), self.request.GET.urlencode()
        return lambda zone: f"{address(UUID(zone.key))}{f'?{query}' if query else ''}"

    def drawn(self, overview: ReportOverview, current: ReportedCriterion) -> Context:
        """Floor plans where there are any; the house in section otherwise, and for whoever asks."""
        asked = {"limit": current.ref}
        section = self.request.GET.get("view") == "section"
        plans = released_report.floor_plans(overview, self.link)
        drawn: Context = {"plans": plans} if plans and not section else {}
        if not drawn:
            drawn["sections"] = released_report.sections(overview, current, self.link)
        if plans:
            ways = [("Floor plans", asked, not section), ("Section", asked | {"view": "section"}, section)]
            drawn["ways"] = [(label, f"?{urlencode(query)}", now) for label, query, now in ways]
        return drawn


class ReleasedZone(ReportPage):
    """One zone in words and numbers, and the way from each number to the file it came from."""

    template_name = "reports/released/zone.html"
    report_route = "released-report"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        content = self.content
        zone = self.zone()
        if zone is None:
            raise Http404
        findings = zone_findings(content, zone)
        back = reverse(self.report_route, args=[self.found.key])
        return self.tell(
            title=zone.name,
            kicker="Findings of a zone",
            subtitle=", ".join(part for part in (zone.building, zone.floor, zone.use) if part),
            crumbs=[*self.crumbs(), (content.site.name, back)],
            report=self.found,
            content=content,
            zone=zone,
            measured=[told for told in findings if told.finding.result],
            beside_only=[told for told in findings if not told.finding.result and told.others],
            missing=[released_report.point_text(point) for point in zone.unmeasured_points],
            changed=self.changed(),
            cautions=content.cautions[:BESIDE],
            disagreements=[each.sentence for each in content.quality.disagreements if each.zone == zone.key],
        )

    def zone(self) -> ReportedZone | None:
        return content_cache.zone_alone(self.found, str(self.kwargs["zone"]))


class ReportContentFile(ReportPage):
    """What was signed, byte for byte as its digest counts it, so that anybody who may read it can verify it."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        report = access.find(self.person, Report, self.kwargs["key"])
        report.prove()
        answer = HttpResponse(canonical(report.content), content_type="application/json")
        name = f"{slugify(report.record.site.name) or 'report'}-revision-{report.revision}.json"
        answer["Content-Disposition"] = f'attachment; filename="{name}"'
        return answer


class ReportPdf(ReportPage):
    """The PDF, or how far it is. It is set once; asking again for one that failed is for those who may release."""

    template_name = "reports/report_pdf.html"

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponseBase:
        report = self.found
        if report.pdf:
            if (stored := pdf_of(report)) is None:
                return self.altered()
            name = f"{slugify(self.content.site.name) or 'report'}-revision-{report.revision}.pdf"
            return FileResponse(stored, content_type="application/pdf", filename=name)
        job = Job.objects.filter(kind=MAKE_PDF, subject_id=report.pk).order_by("-pk").first()
        failed = job is not None and job.state == Job.State.FAILED
        return self.show(
            status=200 if failed else 202,
            title="The report as a PDF",
            subtitle=f"{self.content.site.name}, revision {report.revision}",
            crumbs=[*self.crumbs(), (self.content.site.name, reverse("released-report", args=[report.key]))],
            failed=failed,
            message=job.message if job is not None and self.may_change else "",
            unattended="" if failed or beating() else NO_WORKER,
            may_change=self.may_change,
            report=report,
        )

    def altered(self) -> HttpResponse:
        """The file is another one, or gone: it is set again from the content, which is what was signed."""
        log.error("The PDF of report %s is not the one that was set, or gone.", self.found.key)
        return self.show(
            status=500,
            title="The report as a PDF",
            crumbs=[*self.crumbs(), (self.content.site.name, reverse("released-report", args=[self.found.key]))],
            failed=True,
            message="The stored file is not the one that was set from the report, so it is not shown.",
            may_change=self.may_change,
            report=self.found,
        )

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        report = access.find(self.person, Report, self.kwargs["key"], act="change")
        if not report.pdf or pdf_of(report) is None:
            ask_for_pdf(report, self.person)
            messages.success(request, "The PDF is being set again.")
        return redirect("report-pdf", key=report.key)
