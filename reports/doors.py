"""Who may reach limits, findings and reports. People of a client reach released reports of their client only."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import Q

from campaigns.access import NOBODY, Door
from campaigns.access import register as open_door
from campaigns.models import Scope
from reports.models import (
    Criterion,
    Evaluation,
    ExposureGroup,
    ExposureSample,
    Finding,
    Limit,
    LimitCheck,
    Report,
    Result,
)


def released_to(clients: Iterable[int]) -> Q:
    return Q(campaign__site__client__in=list(clients), released_at__isnull=False, withdrawn_at__isnull=True)


def register() -> None:
    campaign = "campaign__site__organisation"
    open_door(Limit, Door("organisation", common=Q(organisation__isnull=True)))
    open_door(LimitCheck, Door("organisation"))
    open_door(Criterion, Door(campaign, scope=Scope.FINDINGS))
    open_door(Result, Door(f"criterion__{campaign}", scope=Scope.FINDINGS, change=NOBODY, add=NOBODY))
    open_door(Finding, Door(f"criterion__{campaign}", scope=Scope.FINDINGS, change=NOBODY, add=NOBODY))
    open_door(Evaluation, Door(campaign, scope=Scope.FINDINGS, change=NOBODY, add=NOBODY))
    open_door(ExposureGroup, Door(campaign))
    open_door(ExposureSample, Door(f"group__{campaign}"))
    open_door(Report, Door(campaign, scope=Scope.FINDINGS, client=released_to))
