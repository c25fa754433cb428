"""Revisions that were taken back, for those who could read them before."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from campaigns import access
from campaigns.models import Role, User
from reports.models import Report


def withdrawn_from(person: User) -> QuerySet[Report]:
    """Of the house, or released to a client of whom the person is: that they were withdrawn and why, nothing else."""
    clients = [held.client_id for held in access.memberships(person) if held.role == Role.CLIENT and held.client_id]
    theirs = Q(pk__in=access.visible(person, Report).values("pk")) | Q(client__in=clients)
    return Report.objects.filter(theirs, released_at__isnull=False, withdrawn_at__isnull=False).defer("content")
