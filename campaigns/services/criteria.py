"""Choosing what a campaign is judged by. One at a time per campaign, each change in the history."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from campaigns.models import Campaign, Criterion, Limit


def add(campaign: Campaign, limits: Iterable[Limit]) -> int:
    """Choose ``limits``, in their order after those chosen already; what is chosen stays. Returns how many are new."""
    with transaction.atomic():
        held = _locked(campaign)
        chosen = {criterion.limit_id for criterion in held}
        position = max((criterion.position for criterion in held), default=-1)
        fresh = [limit for limit in limits if limit.pk not in chosen]
        for n, limit in enumerate(fresh, start=1):
            Criterion.objects.create(campaign=campaign, limit=limit, position=position + n)
    return len(fresh)


def move(criterion: Criterion, *, up: bool) -> None:
    """Change places with the criterion before or after; nothing happens at either end."""
    with transaction.atomic():
        held = _locked(criterion.campaign)
        at = next((n for n, one in enumerate(held) if one.pk == criterion.pk), None)
        if at is None:
            return
        to = max(0, at - 1) if up else min(len(held) - 1, at + 1)
        held[at], held[to] = held[to], held[at]
        for position, one in enumerate(held):
            if one.position != position:
                one.position = position
                one.save(update_fields=["position"])


def _locked(campaign: Campaign) -> list[Criterion]:
    """The campaign's criteria in order, kept from other hands until the transaction ends."""
    Campaign.objects.select_for_update().get(pk=campaign.pk)
    return list(campaign.criteria.all())
