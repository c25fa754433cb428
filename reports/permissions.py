"""Who may reach findings and reports. People of a client reach released reports of their client only."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Model, Q

from campaigns.access import NOBODY, AccessRule
from campaigns.models import TokenScope
from reports.models import AgreementDeparture, Evaluation, ExposureGroup, ExposureSample, Finding, Report, Result

CAMPAIGN = "campaign__site__organisation"


def released_to(clients: Iterable[int]) -> Q:
    return Q(client__in=list(clients), released_at__isnull=False, withdrawn_at__isnull=True)


RULES: dict[type[Model], AccessRule] = {
    Result: AccessRule(f"criterion__{CAMPAIGN}", scope=TokenScope.FINDINGS, change=NOBODY, add=NOBODY),
    Finding: AccessRule(f"criterion__{CAMPAIGN}", scope=TokenScope.FINDINGS, change=NOBODY, add=NOBODY),
    Evaluation: AccessRule(CAMPAIGN, scope=TokenScope.FINDINGS, change=NOBODY, add=NOBODY),
    AgreementDeparture: AccessRule(CAMPAIGN),
    ExposureGroup: AccessRule(CAMPAIGN),
    ExposureSample: AccessRule(f"group__{CAMPAIGN}"),
    Report: AccessRule(CAMPAIGN, scope=TokenScope.FINDINGS, client=released_to),
}
