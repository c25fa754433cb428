"""Addresses of releasing, and of what has been released."""

from __future__ import annotations

from django.urls import path

from reports.views import draft, readers, release, release_agreement, release_clock, released, withdrawing

urlpatterns = [
    path("campaigns/<uuid:key>/report/", release.ReportOf.as_view(), name="report"),
    path("campaigns/<uuid:key>/report/draft/", draft.DraftReport.as_view(), name="report-draft"),
    path("campaigns/<uuid:key>/report/draft/zones/<uuid:zone>/", draft.DraftZone.as_view(), name="report-draft-zone"),
    path("campaigns/<uuid:key>/report/draft.pdf", draft.DraftPdf.as_view(), name="report-draft-pdf"),
    path("campaigns/<uuid:key>/report/release/", release.ReportRelease.as_view(), name="report-release"),
    path("campaigns/<uuid:key>/report/clock/", release_clock.ReportClock.as_view(), name="report-clock"),
    path(
        "campaigns/<uuid:key>/report/agreement/",
        release_agreement.ReportAgreement.as_view(),
        name="report-agreement",
    ),
    path("campaigns/<uuid:key>/report/editions/", release.ReportEditions.as_view(), name="report-editions"),
    path("campaigns/<uuid:key>/readers/", readers.Readers.as_view(), name="readers"),
    path("campaigns/<uuid:key>/readers/<uuid:reader>/", readers.ReaderLink.as_view(), name="reader-link"),
    path("reports/<uuid:key>/withdraw/", withdrawing.ReportWithdraw.as_view(), name="report-withdraw"),
    path("reports/<uuid:key>/pdf/", released.ReportPdf.as_view(), name="report-pdf"),
    path("findings/", released.Released.as_view(), name="released"),
    path("findings/<uuid:key>/", released.ReleasedReport.as_view(), name="released-report"),
    path("findings/<uuid:key>/content.json", released.ReportContentFile.as_view(), name="report-content"),
    path("findings/<uuid:key>/zones/<uuid:zone>/", released.ReleasedZone.as_view(), name="released-zone"),
]
