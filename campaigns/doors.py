"""Who may reach what this app keeps."""

from __future__ import annotations

from django.db.models import Model

from campaigns import models as m
from campaigns.access import CONSULTANTS, NOBODY, STAFF, Door
from campaigns.access import register as open_door

FLOOR, ZONE = "building__site__organisation", "floor__building__site__organisation"

DOORS: dict[type[Model], Door] = {
    m.Organisation: Door("", add=NOBODY, scope=m.Scope.PLACES),
    m.Membership: Door("organisation", see=CONSULTANTS),
    m.Client: Door("organisation"),
    m.ApiToken: Door("organisation", see=CONSULTANTS),
    m.Site: Door("organisation", scope=m.Scope.PLACES),
    m.Building: Door("site__organisation", scope=m.Scope.PLACES),
    m.Floor: Door(FLOOR, scope=m.Scope.PLACES),
    m.FloorPlan: Door(f"floor__{FLOOR}", scope=m.Scope.PLACES),
    m.Zone: Door(ZONE, scope=m.Scope.PLACES),
    m.Room: Door(f"zone__{ZONE}", scope=m.Scope.PLACES),
    m.SamplingPoint: Door("site__organisation", scope=m.Scope.PLACES),
    m.InstrumentType: Door("organisation", scope=m.Scope.CAMPAIGNS),
    m.ChannelSpec: Door("instrument_type__organisation", scope=m.Scope.CAMPAIGNS),
    m.Instrument: Door("organisation", scope=m.Scope.CAMPAIGNS),
    m.Channel: Door("instrument__organisation", scope=m.Scope.CAMPAIGNS, change=NOBODY, add=NOBODY),
    m.Calibration: Door("channel__instrument__organisation", scope=m.Scope.CAMPAIGNS),
    m.FieldCheck: Door("channel__instrument__organisation", scope=m.Scope.CAMPAIGNS, change=STAFF, add=STAFF),
    m.ClockCheck: Door("instrument__organisation", scope=m.Scope.CAMPAIGNS, change=STAFF, add=STAFF),
    m.ClockReset: Door("instrument__organisation", scope=m.Scope.CAMPAIGNS, change=STAFF, add=STAFF),
    m.Campaign: Door("site__organisation", scope=m.Scope.CAMPAIGNS),
    m.PlannedPoint: Door("campaign__site__organisation", scope=m.Scope.CAMPAIGNS),
    m.Deployment: Door("campaign__site__organisation", scope=m.Scope.CAMPAIGNS, change=STAFF, add=STAFF),
    m.Job: Door("organisation", change=STAFF, add=NOBODY),
}


def register() -> None:
    for model, door in DOORS.items():
        open_door(model, door)
