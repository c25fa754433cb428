"""Opening released findings to a person of the client: a role that reads, and a link that works once."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.urls import reverse

from campaigns.models import Campaign, Membership, Role, User
from campaigns.services.people import add_person, password_link
from reports.services.readiness import in_force

NO_CLIENT = "The site has no client yet. Name the client first: people of a client read what was released to it."
WORKS_HERE = "This address works in the house already. Its people read all findings without an invitation."
OTHER_CLIENT = "This address reads for another client. A person reads the findings of one client."


@dataclass(frozen=True)
class Invitation:
    """What is handed over. ``path``: where the link leads; ``once``: whether it sets a password and then is used up;
    ``released``: whether there is anything to read yet."""

    path: str
    once: bool
    released: bool


def invite(campaign: Campaign, email: str, name: str) -> Membership:
    """Let somebody read what is released of this campaign's site; the same person again changes nothing.

    Raises ValidationError, by field, when the address cannot be invited.
    """
    client = campaign.site.client
    if client is None:
        raise ValidationError(NO_CLIENT)
    organisation = campaign.site.organisation
    held = Membership.objects.filter(organisation=organisation, user__email=email).first()
    if held is None:
        return add_person(organisation, email, name, Role.CLIENT, client)
    if held.role != Role.CLIENT:
        raise ValidationError({"email": WORKS_HERE})
    if held.client_id != client.pk:
        raise ValidationError({"email": OTHER_CLIENT})
    return held


def invitation(campaign: Campaign, reader: Membership, by: User | None = None) -> Invitation:
    """The way in for this reader: a password link for somebody new, the findings' own address for the rest."""
    report = in_force(campaign, reader.client)
    findings = reverse("released-report", args=[report.key]) if report else reverse("released")
    once = "" if reader.user.has_usable_password() else password_link(reader, by)
    return Invitation(path=once or findings, once=bool(once), released=report is not None)
