"""Addresses of the planning pages. A key, never a number: an address tells nothing about what else there is."""

from __future__ import annotations

from typing import Any

from django.urls import URLPattern, path
from django.views import View

from campaigns.views import (
    account,
    agreements,
    alert_levels,
    campaigns,
    checks,
    client_agreement,
    criteria,
    floor_plans,
    instruments,
    jobs,
    limits,
    people,
    places,
    plan_images,
    quality,
    room_lists,
    tokens,
    use,
)


def row(where: str, name: str, **views: type[View]) -> list[URLPattern]:
    """Addresses of what can be done with one row: ``row("sites", "site", edit=SiteEdit)`` is sites/<key>/edit/."""
    return [path(f"{where}/<uuid:key>/{end}/", view.as_view(), name=f"{name}-{end}") for end, view in views.items()]


def add(where: str, name: str, view: type[View]) -> URLPattern:
    return path(f"{where}/add/", view.as_view(), name=f"{name}-add")


def page(where: str, name: str, view: Any) -> URLPattern:
    pattern: URLPattern = path(f"{where}/", view.as_view(), name=name)
    return pattern


ACCOUNT = [
    path("", account.Home.as_view(), name="home"),
    page("login", "login", account.Login),
    page("logout", "logout", account.Logout),
    page("password", "password-change", account.PasswordChange),
    page("password/set/<uidb64>/<token>", "password-set", account.PasswordSet),
]

PLACES = [
    page("sites", "sites", places.Sites),
    add("sites", "site", places.SiteAdd),
    page("sites/<uuid:key>", "site", places.SitePage),
    *row("sites", "site", edit=places.SiteEdit, delete=places.SiteDelete, history=places.SiteHistory),
    add("sites/<uuid:key>/buildings", "building", places.BuildingAdd),
    add("sites/<uuid:key>/points", "outdoor-point", places.OutdoorPointAdd),
    *row(
        "buildings", "building", edit=places.BuildingEdit, delete=places.BuildingDelete, history=places.BuildingHistory
    ),
    add("buildings/<uuid:key>/floors", "floor", places.FloorAdd),
    *row("floors", "floor", edit=places.FloorEdit, delete=places.FloorDelete, history=places.FloorHistory),
    add("floors/<uuid:key>/zones", "zone", places.ZoneAdd),
    *row("zones", "zone", edit=places.ZoneEdit, delete=places.ZoneDelete, history=places.ZoneHistory),
    add("zones/<uuid:key>/rooms", "room", places.RoomAdd),
    page("zones/<uuid:key>/rooms/add-several", "rooms-add", places.RoomsAdd),
    *row("rooms", "room", edit=places.RoomEdit, delete=places.RoomDelete, history=places.RoomHistory),
    add("rooms/<uuid:key>/points", "point", places.PointAdd),
    *row("points", "point", edit=places.PointEdit, delete=places.PointDelete, history=places.PointHistory),
]

FLOOR_PLANS = [
    page("floors/<uuid:key>/plan", "floor-plan", floor_plans.FloorPlanPage),
    page("floors/<uuid:key>/plan/data", "floor-plan-data", floor_plans.FloorPlanData),
    page("floors/<uuid:key>/plan/save", "floor-plan-save", floor_plans.FloorPlanSave),
    page("floors/<uuid:key>/plan/split", "floor-plan-split", floor_plans.FloorPlanSplit),
    page("floors/<uuid:key>/plan/image", "floor-plan-image", plan_images.FloorPlanImage),
    add("floors/<uuid:key>/plan/image", "floor-plan-image", plan_images.FloorPlanImageAdd),
    page("floors/<uuid:key>/plan/image/remove", "floor-plan-image-remove", plan_images.FloorPlanImageRemove),
    page("floors/<uuid:key>/rooms/import", "rooms-import", room_lists.RoomsImport),
]

TYPES = [
    page("instrument-types", "instrument-types", instruments.InstrumentTypes),
    add("instrument-types", "instrument-type", instruments.InstrumentTypeAdd),
    page("instrument-types/<uuid:key>", "instrument-type", instruments.InstrumentTypePage),
    *row(
        "instrument-types",
        "instrument-type",
        edit=instruments.InstrumentTypeEdit,
        delete=instruments.InstrumentTypeDelete,
        history=instruments.InstrumentTypeHistory,
    ),
    add("instrument-types/<uuid:key>/channels", "channel", instruments.ChannelAdd),
    *row(
        "channels",
        "channel",
        edit=instruments.ChannelEdit,
        delete=instruments.ChannelDelete,
        history=instruments.ChannelHistory,
    ),
]

INSTRUMENTS = [
    page("instruments", "instruments", instruments.Instruments),
    add("instruments", "instrument", instruments.InstrumentAdd),
    page("instruments/<uuid:key>", "instrument", instruments.InstrumentPage),
    *row(
        "instruments",
        "instrument",
        edit=instruments.InstrumentEdit,
        delete=instruments.InstrumentDelete,
        history=instruments.InstrumentHistory,
    ),
]

CHECKS = [
    add("instruments/<uuid:key>/calibrations", "calibration", checks.CalibrationAdd),
    *row(
        "calibrations",
        "calibration",
        edit=checks.CalibrationEdit,
        delete=checks.CalibrationDelete,
        history=checks.CalibrationHistory,
    ),
    add("instruments/<uuid:key>/field-checks", "field-check", checks.FieldCheckAdd),
    *row(
        "field-checks",
        "field-check",
        edit=checks.FieldCheckEdit,
        delete=checks.FieldCheckDelete,
        history=checks.FieldCheckHistory,
    ),
    page("field-checks/<uuid:key>/accept", "field-check-accept", checks.FieldCheckAccept),
    add("instruments/<uuid:key>/clock-checks", "clock-check", checks.ClockCheckAdd),
    *row(
        "clock-checks",
        "clock-check",
        edit=checks.ClockCheckEdit,
        delete=checks.ClockCheckDelete,
        history=checks.ClockCheckHistory,
    ),
]

PLANS = [
    page("campaigns", "campaigns", campaigns.Campaigns),
    add("sites/<uuid:key>/campaigns", "campaign", campaigns.CampaignAdd),
    *row(
        "campaigns",
        "campaign",
        edit=campaigns.CampaignEdit,
        delete=campaigns.CampaignDelete,
        history=campaigns.CampaignHistory,
    ),
    page("campaigns/<uuid:key>/plan", "plan", campaigns.PlanPage),
    page("campaigns/<uuid:key>/deployments", "deployments", campaigns.Deployments),
    add("campaigns/<uuid:key>/deployments", "deployment", campaigns.DeploymentAdd),
    *row(
        "deployments",
        "deployment",
        edit=campaigns.DeploymentEdit,
        delete=campaigns.DeploymentDelete,
        history=campaigns.DeploymentHistory,
    ),
]

USE = [
    page("campaigns/<uuid:key>/use", "use", use.UsePage),
    add("campaigns/<uuid:key>/use", "campaign-use", use.CampaignUseAdd),
    add("buildings/<uuid:key>/use", "building-use", use.BuildingUseAdd),
    add("zones/<uuid:key>/use", "zone-use", use.ZoneUseAdd),
    page("campaigns/<uuid:key>/use/assume", "campaign-use-assume", use.CampaignUseAssume),
    page("buildings/<uuid:key>/use/assume", "building-use-assume", use.BuildingUseAssume),
    page("zones/<uuid:key>/use/assume", "zone-use-assume", use.ZoneUseAssume),
    *row("use", "use-timetable", edit=use.UseEdit, delete=use.UseDelete, history=use.UseHistory),
]

AGREEMENTS = [
    page("campaigns/<uuid:key>/agreement", "agreement", agreements.AgreementPage),
    add("campaigns/<uuid:key>/agreement", "agreement", agreements.AgreementAdd),
    *row(
        "agreements",
        "agreement",
        edit=agreements.AgreementEdit,
        delete=agreements.AgreementDelete,
        history=agreements.AgreementHistory,
        offer=agreements.AgreementOffer,
        record=agreements.AgreementRecord,
    ),
    page("findings/agreements/<uuid:key>", "client-agreement", client_agreement.ClientAgreement),
    *row(
        "findings/agreements",
        "client-agreement",
        accept=client_agreement.ClientAgreementAccept,
        decline=client_agreement.ClientAgreementDecline,
    ),
]

ALERT_LEVELS = [
    page("campaigns/<uuid:key>/alert-levels", "alert-levels", alert_levels.AlertLevels),
    page("campaigns/<uuid:key>/alert-levels/choose", "alert-level-choose", alert_levels.AlertLevelChoose),
    add("campaigns/<uuid:key>/alert-levels", "alert-level", alert_levels.AlertLevelAdd),
    *row(
        "alert-levels",
        "alert-level",
        edit=alert_levels.AlertLevelEdit,
        switch=alert_levels.AlertLevelSwitch,
        history=alert_levels.AlertLevelHistory,
    ),
]

QUALITY = [
    add("campaigns/<uuid:key>/quality/runs", "quality-run", quality.QualityRunAdd),
    *row(
        "quality-runs",
        "quality-run",
        edit=quality.QualityRunEdit,
        delete=quality.QualityRunDelete,
        history=quality.QualityRunHistory,
    ),
    page("campaigns/<uuid:key>/quality/acceptance", "acceptance", quality.Acceptance),
    page("campaigns/<uuid:key>/quality/acceptance/usual", "acceptance-usual", quality.AcceptanceUsual),
]

CRITERIA = [
    page("campaigns/<uuid:key>/criteria", "criteria", criteria.Criteria),
    page("campaigns/<uuid:key>/fitness", "plan-fitness", criteria.PlanFitness),
    page("campaigns/<uuid:key>/criteria/add", "criterion-add", criteria.CriterionAdd),
    *row("criteria", "criterion", move=criteria.CriterionMove, remove=criteria.CriterionRemove),
]

LIMITS = [
    page("limits", "limits", limits.Limits),
    add("limits", "limit", limits.LimitAdd),
    page("limits/<uuid:key>", "limit", limits.LimitPage),
    *row(
        "limits",
        "limit",
        check=limits.LimitCheckPage,
        edit=limits.LimitEdit,
        delete=limits.LimitDelete,
        history=limits.LimitHistory,
    ),
]

PEOPLE = [
    page("clients", "clients", people.Clients),
    add("clients", "client", people.ClientAdd),
    *row("clients", "client", edit=people.ClientEdit, delete=people.ClientDelete, history=people.ClientHistory),
    page("people", "people", people.People),
    add("people", "person", people.PersonAdd),
    page("people/history", "people-history", people.PeopleHistory),
    *row(
        "people",
        "person",
        edit=people.PersonEdit,
        delete=people.PersonDelete,
        history=people.PersonHistory,
        link=people.PersonLink,
    ),
    page("tokens", "tokens", tokens.Tokens),
    add("tokens", "token", tokens.TokenAdd),
    *row("tokens", "token", delete=tokens.TokenDelete),
]

WORK = [
    page("work", "jobs", jobs.Jobs),
    *row("work", "job", row=jobs.JobRow, again=jobs.JobAgain, acknowledge=jobs.JobAcknowledge),
]

urlpatterns = [
    *ACCOUNT,
    *PLACES,
    *FLOOR_PLANS,
    *TYPES,
    *INSTRUMENTS,
    *CHECKS,
    *PLANS,
    *USE,
    *AGREEMENTS,
    *ALERT_LEVELS,
    *QUALITY,
    *CRITERIA,
    *LIMITS,
    *PEOPLE,
    *WORK,
]
