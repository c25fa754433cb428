"""Agreements for tests: one that a client accepted before measuring began, or the reason why there is none."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from campaigns import models as m
from campaigns.services import agreements
from reports.models import AgreementDeparture
from reports.services.departures import explain
from tests import factories as make
from tests.worlds import member

WORDS: Any = {
    "question": "Do the people in the attic studio breathe more formaldehyde than the guideline allows?",
    "decision": "Whether the studio stays open while the flooring is replaced.",
    "undecided": "The point is measured again for a whole day.",
}
BEFORE = make.START - timedelta(days=7)
NOT_AGREED = "A test of something else."


def consultant_of(campaign: m.Campaign) -> m.User:
    organisation = campaign.site.organisation
    held = m.Membership.objects.filter(organisation=organisation, role=m.Role.CONSULTANT).first()
    return held.user if held else _named(organisation, m.Role.CONSULTANT, f"agrees{campaign.pk}@fanlight.example")


def client_of(campaign: m.Campaign) -> m.User:
    organisation, client = campaign.site.organisation, campaign.site.client
    held = m.Membership.objects.filter(organisation=organisation, client=client, client__isnull=False).first()
    return (
        held.user
        if held
        else _named(organisation, m.Role.CLIENT, f"reads{campaign.pk}@fanlight.example", client=client)
    )


def _named(organisation: m.Organisation, role: m.Role, email: str, **extra: object) -> m.User:
    person = member(organisation, role, email, **extra)
    person.first_name, person.last_name = "Wren", "Mullion"
    person.save()
    return person


def offered(campaign: m.Campaign, *, at: datetime = BEFORE, **words: str) -> m.Agreement:
    """The next version, with the client."""
    by = consultant_of(campaign)
    return agreements.offer(agreements.draft(campaign, by, **{**WORDS, **words}), by, at=at)


def accepted(campaign: m.Campaign, *, at: datetime = BEFORE, **words: str) -> m.Agreement:
    """The next version, accepted by a person of the client ``at`` that time."""
    row = offered(campaign, at=at - timedelta(hours=1), **words)
    return agreements.accept(row, client_of(campaign), seen=row.digest, at=at)


def unagreed(campaign: m.Campaign) -> AgreementDeparture:
    """For tests that release and are about something else: why it is released without an agreement."""
    return explain(campaign, NOT_AGREED, consultant_of(campaign))
