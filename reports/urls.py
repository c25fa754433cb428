"""Addresses of the pages of judging."""

from __future__ import annotations

from django.urls import path

from reports.views import campaign, exposure, fitness, overview, quality, result, workbook, zone, zone_figures

CAMPAIGN = [
    path("campaigns/<uuid:key>/", campaign.CampaignPage.as_view(), name="campaign"),
    path("campaigns/<uuid:key>/judge/", campaign.Judge.as_view(), name="judge"),
    path("campaigns/<uuid:key>/zones/<uuid:zone_key>/", zone.ZonePage.as_view(), name="zone"),
    path("campaigns/<uuid:key>/results.xlsx", workbook.ResultsWorkbook.as_view(), name="results-workbook"),
    path("results/<uuid:key>/", result.ResultPage.as_view(), name="result"),
]

ZONE = "campaigns/<uuid:key>/zones/<uuid:zone_key>"
FIGURES = [
    path(f"{ZONE}/series/<slug:parameter>/", zone_figures.ZoneSeries.as_view(), name="zone-series"),
    path(f"{ZONE}/spread/<slug:parameter>/", zone_figures.ZoneSpread.as_view(), name="zone-spread"),
    path(f"{ZONE}/outdoor/<slug:parameter>/", zone_figures.ZoneOutdoor.as_view(), name="zone-outdoor"),
    path(f"{ZONE}/conditions/<slug:parameter>/", zone_figures.ZoneConditions.as_view(), name="zone-conditions"),
    path(f"{ZONE}/together/<slug:parameter>/", zone_figures.ZoneTogether.as_view(), name="zone-together"),
    path(f"{ZONE}/points/<slug:parameter>/", zone_figures.ZonePoints.as_view(), name="zone-points"),
    path(f"{ZONE}/range/<slug:figure>/<slug:parameter>/", zone_figures.ZoneRange.as_view(), name="zone-range"),
    path(f"{ZONE}/readings.csv", zone_figures.ZoneReadings.as_view(), name="zone-readings"),
]

OVERVIEW = [
    path("instruments/<uuid:key>/fitness/", fitness.FitnessPage.as_view(), name="instrument-fitness"),
    path("campaigns/<uuid:key>/side-by-side/", overview.SideBySide.as_view(), name="side-by-side"),
    path("campaigns/<uuid:key>/quality/", quality.QualityPage.as_view(), name="quality"),
    path("campaigns/<uuid:key>/summaries/", overview.Summaries.as_view(), name="summaries"),
    path("campaigns/<uuid:key>/exposure/", exposure.ExposureGroups.as_view(), name="exposure-groups"),
    path("campaigns/<uuid:key>/exposure/add/", exposure.ExposureGroupAdd.as_view(), name="exposure-group-add"),
    path("exposure/<uuid:key>/", exposure.ExposureGroupPage.as_view(), name="exposure-group"),
    path("exposure/<uuid:key>/edit/", exposure.ExposureGroupEdit.as_view(), name="exposure-group-edit"),
    path("exposure/<uuid:key>/delete/", exposure.ExposureGroupDelete.as_view(), name="exposure-group-delete"),
    path("exposure/<uuid:key>/history/", exposure.ExposureGroupHistory.as_view(), name="exposure-group-history"),
]

urlpatterns = [*CAMPAIGN, *FIGURES, *OVERVIEW]
