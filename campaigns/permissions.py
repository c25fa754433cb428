"""Who may reach what this app keeps."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Model, Q

from campaigns import models as m
from campaigns.access import CONSULTANTS, NOBODY, STAFF, AccessRule

FLOOR, ZONE = "building__site__organisation", "floor__building__site__organisation"


def offered_to(clients: Iterable[int]) -> Q:
    """What people of a client see of agreements: those that were offered to this client, and no draft."""
    return Q(client__in=list(clients), offered_at__isnull=False)


RULES: dict[type[Model], AccessRule] = {
    m.Organisation: AccessRule("", add=NOBODY, scope=m.TokenScope.PLACES),
    m.Membership: AccessRule("organisation", see=CONSULTANTS),
    m.Client: AccessRule("organisation"),
    m.ApiToken: AccessRule("organisation", see=CONSULTANTS),
    m.Site: AccessRule("organisation", scope=m.TokenScope.PLACES),
    m.Building: AccessRule("site__organisation", scope=m.TokenScope.PLACES),
    m.Floor: AccessRule(FLOOR, scope=m.TokenScope.PLACES),
    m.FloorPlan: AccessRule(f"floor__{FLOOR}", scope=m.TokenScope.PLACES),
    m.Zone: AccessRule(ZONE, scope=m.TokenScope.PLACES),
    m.Room: AccessRule(f"zone__{ZONE}", scope=m.TokenScope.PLACES),
    m.SamplingPoint: AccessRule("site__organisation", scope=m.TokenScope.PLACES),
    m.InstrumentType: AccessRule("organisation", scope=m.TokenScope.CAMPAIGNS),
    m.ChannelSpec: AccessRule("instrument_type__organisation", scope=m.TokenScope.CAMPAIGNS),
    m.Instrument: AccessRule("organisation", scope=m.TokenScope.CAMPAIGNS),
    m.Channel: AccessRule("instrument__organisation", scope=m.TokenScope.CAMPAIGNS, change=NOBODY, add=NOBODY),
    m.Calibration: AccessRule("channel__instrument__organisation", scope=m.TokenScope.CAMPAIGNS),
    m.FieldCheck: AccessRule(
        "channel__instrument__organisation", scope=m.TokenScope.CAMPAIGNS, change=STAFF, add=STAFF, remove=CONSULTANTS
    ),
    m.ClockCheck: AccessRule(
        "instrument__organisation", scope=m.TokenScope.CAMPAIGNS, change=STAFF, add=STAFF, remove=CONSULTANTS
    ),
    m.ClockReset: AccessRule("instrument__organisation", scope=m.TokenScope.CAMPAIGNS, change=STAFF, add=STAFF),
    m.Campaign: AccessRule("site__organisation", scope=m.TokenScope.CAMPAIGNS),
    m.PlannedPoint: AccessRule("campaign__site__organisation", scope=m.TokenScope.CAMPAIGNS),
    m.AlertLevel: AccessRule("campaign__site__organisation"),
    m.UseTimetable: AccessRule("site__organisation"),
    m.Agreement: AccessRule("campaign__site__organisation", client=offered_to),
    m.Deployment: AccessRule(
        "campaign__site__organisation", scope=m.TokenScope.CAMPAIGNS, change=STAFF, add=STAFF, remove=CONSULTANTS
    ),
    m.QualityRun: AccessRule("campaign__site__organisation", change=STAFF, add=STAFF, remove=CONSULTANTS),
    m.RunInstrument: AccessRule("run__campaign__site__organisation", change=STAFF, add=STAFF),
    m.AcceptanceLimit: AccessRule("campaign__site__organisation", change=NOBODY),
    m.Limit: AccessRule("organisation", common=Q(organisation__isnull=True)),
    m.LimitCheck: AccessRule("organisation"),
    m.Criterion: AccessRule("campaign__site__organisation", scope=m.TokenScope.FINDINGS),
    m.Job: AccessRule("organisation", change=STAFF, add=NOBODY),
}
