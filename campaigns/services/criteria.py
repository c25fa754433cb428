"""Choosing what a campaign is judged by. Each holds the campaign, raises ValidationError, and is in the history."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Criterion, Limit
from campaigns.services import removal
from campaigns.services.locks import hold_campaign
from campaigns.services.records import all_or_nothing

OTHERS = "This limit belongs to another organisation."


def add(campaign: Campaign, limits: Iterable[Limit]) -> int:
    """Choose ``limits``, in their order after those chosen already; what is chosen stays. Returns how many are new."""
    chosen_now, own = list(limits), (None, campaign.site.organisation_id)
    if any(limit.organisation_id not in own for limit in chosen_now):
        raise ValidationError(OTHERS)
    with all_or_nothing(Criterion):
        held = _locked(campaign)
        chosen = {criterion.limit_id for criterion in held}
        position = max((criterion.position for criterion in held), default=-1)
        fresh = [limit for limit in chosen_now if limit.pk not in chosen]
        for n, limit in enumerate(fresh, start=1):
            Criterion.objects.create(campaign=campaign, limit=limit, position=position + n)
    return len(fresh)


def move(criterion: Criterion, *, up: bool) -> None:
    """Change places with the criterion before or after; nothing happens at either end."""
    with all_or_nothing(Criterion):
        held = _locked(criterion.campaign)
        at = next((n for n, criterion_held in enumerate(held) if criterion_held.pk == criterion.pk), None)
        if at is None:
            return
        to = max(0, at - 1) if up else min(len(held) - 1, at + 1)
        held[at], held[to] = held[to], held[at]
        for position, criterion_held in enumerate(held):
            if criterion_held.position != position:
                criterion_held.position = position
                criterion_held.save(update_fields=["position"])


def remove(criterion: Criterion) -> None:
    """Judge by it no longer. The results against it go with it; the limit stays, and so do frozen reports."""
    with all_or_nothing(Criterion):
        hold_campaign(criterion.campaign)
        removal.remove(criterion)


def _locked(campaign: Campaign) -> list[Criterion]:
    """The campaign's criteria in order, kept from other hands until the transaction ends."""
    hold_campaign(campaign)
    return list(campaign.criteria.all())
