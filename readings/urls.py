"""Pages of collecting."""

from __future__ import annotations

from django.urls import path

from readings.views import (
    alerts,
    clock,
    clock_lags,
    layout_page,
    layouts,
    originals,
    reading_anew,
    sheets,
    timeline,
    timeline_steps,
    uploads,
)

TIMELINE = "campaigns/<uuid:key>/timeline/"
STEPS = {
    "move": timeline_steps.TimelineMove,
    "split": timeline_steps.TimelineSplit,
    "merge": timeline_steps.TimelineMerge,
    "create": timeline_steps.TimelineCreate,
    "remove": timeline_steps.TimelineRemove,
    "accept": timeline_steps.TimelineAccept,
    "undo": timeline_steps.TimelineUndo,
    "redo": timeline_steps.TimelineRedo,
}

urlpatterns = [
    path(TIMELINE, timeline.Timeline.as_view(), name="timeline"),
    path(f"{TIMELINE}<uuid:instrument>/trace/", timeline.TimelineTrace.as_view(), name="timeline-trace"),
    *(
        path(f"{TIMELINE}<uuid:instrument>/{deed}/", view.as_view(), name=f"timeline-{deed}")
        for deed, view in STEPS.items()
    ),
    path("campaigns/<uuid:key>/uploads/", uploads.Uploads.as_view(), name="uploads"),
    path("uploads/<uuid:key>/", uploads.UploadPage.as_view(), name="upload"),
    path("uploads/<uuid:key>/row/", uploads.UploadRow.as_view(), name="upload-row"),
    path("uploads/<uuid:key>/decide/", uploads.UploadDecide.as_view(), name="upload-decide"),
    path("uploads/<uuid:key>/accept/", uploads.UploadAccept.as_view(), name="upload-accept"),
    path("uploads/<uuid:key>/original/", originals.UploadOriginal.as_view(), name="upload-original"),
    path("uploads/<uuid:key>/lines/<int:line>/", originals.UploadLine.as_view(), name="upload-line"),
    path("uploads/<uuid:key>/outside/", clock.UploadOutside.as_view(), name="upload-outside"),
    path("uploads/<uuid:key>/twin/", clock.UploadTwin.as_view(), name="upload-twin"),
    path("instruments/<uuid:key>/clock/", clock.ClockPage.as_view(), name="instrument-clock"),
    path("instruments/<uuid:key>/clock/confirm/", clock.ClockConfirm.as_view(), name="clock-confirm"),
    path("instruments/<uuid:key>/clock/answer/", clock.ClockAnswer.as_view(), name="clock-answer"),
    path("clock-lags/<uuid:key>/settle/", clock_lags.ClockLagSettle.as_view(), name="clock-lag-settle"),
    path("clock-resets/<uuid:key>/withdraw/", clock.ClockResetWithdraw.as_view(), name="clock-reset-withdraw"),
    path("uploads/<uuid:key>/layout/", layout_page.UploadLayout.as_view(), name="upload-layout"),
    path("uploads/<uuid:key>/sheet/", sheets.UploadSheet.as_view(), name="upload-sheet"),
    path("uploads/<uuid:key>/again/sheet/", sheets.UploadAgainSheet.as_view(), name="upload-again-sheet"),
    path("uploads/<uuid:key>/again/", reading_anew.UploadAgain.as_view(), name="upload-again"),
    path(
        "uploads/<uuid:key>/again/instrument/",
        reading_anew.UploadAgainInstrument.as_view(),
        name="upload-again-instrument",
    ),
    path("uploads/<uuid:key>/again/layout/", reading_anew.UploadAgainLayout.as_view(), name="upload-again-layout"),
    path("uploads/<uuid:key>/again/as-it-is/", reading_anew.UploadAgainAsItIs.as_view(), name="upload-again-as-it-is"),
    path("uploads/<uuid:key>/withdraw/", reading_anew.UploadWithdraw.as_view(), name="upload-withdraw"),
    path("uploads/<uuid:key>/read-in/", reading_anew.UploadReadIn.as_view(), name="upload-read-in"),
    path("uploads/<uuid:key>/aside/", reading_anew.UploadAside.as_view(), name="upload-aside"),
    path("uploads/<uuid:key>/history/", reading_anew.UploadHistory.as_view(), name="upload-history"),
    path("settings-aside/<uuid:key>/take-back/", reading_anew.AsideTakeBack.as_view(), name="aside-take-back"),
    path("campaigns/<uuid:key>/alerts/", alerts.Alerts.as_view(), name="alerts"),
    path("alerts/<uuid:key>/", alerts.AlertPage.as_view(), name="alert"),
    path("alerts/<uuid:key>/acknowledge/", alerts.AlertAcknowledge.as_view(), name="alert-acknowledge"),
    path("alerts/<uuid:key>/note/", alerts.AlertNote.as_view(), name="alert-note"),
    path("alerts/<uuid:key>/close/", alerts.AlertClose.as_view(), name="alert-close"),
    path("alerts/<uuid:key>/tell/", alerts.AlertTell.as_view(), name="alert-tell"),
    path("alerts/<uuid:key>/history/", alerts.AlertHistory.as_view(), name="alert-history"),
    path("layouts/", layouts.Layouts.as_view(), name="layouts"),
    path("layouts/<uuid:key>/edit/", layouts.LayoutEdit.as_view(), name="layout-edit"),
    path("layouts/<uuid:key>/delete/", layouts.LayoutDelete.as_view(), name="layout-delete"),
    path("layouts/<uuid:key>/history/", layouts.LayoutHistory.as_view(), name="layout-history"),
    path("layouts/look-first/<uuid:key>/", layouts.LookFirstPage.as_view(), name="look-first"),
]
