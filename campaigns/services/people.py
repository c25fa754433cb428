"""Who works here, and with which role.

No mail server is assumed: a new person gets a link, handed over by whoever added them, with which they set a password
once. Nothing here proves that an address is read by its owner. So an address that already has a role in another
organisation is not added by a consultant: whoever made it there could otherwise log in and read here. The operator,
who is trusted by all, can.
"""

from __future__ import annotations

from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from campaigns.models import Client, Membership, Organisation, Role, User
from campaigns.services.locks import hold_organisation
from campaigns.services.records import all_or_nothing, check, current

ELSEWHERE = "This address cannot be added here. Ask the operator of this server."
WHICH_CLIENT = "Which client? They read what was released to this client only."
NO_CLIENT_HERE = "Only a person of a client has one. Leave it empty."
LAST_CONSULTANT = "This is the last consultant. Make somebody else a consultant first."


def add_person(organisation: Organisation, email: str, name: str, role: str, client: Client | None) -> Membership:
    """Give the person of this address a role. Raises ValidationError with the reason why not, by field."""
    name_the_client(role, client)
    with all_or_nothing(Membership):
        user = User.objects.filter(email__iexact=email).first()
        if user is None:
            first, _, last = name.strip().rpartition(" ")
            user = User.objects.create_user(email, first_name=first, last_name=last)
        elif not is_ours(user, organisation):
            raise ValidationError({"email": ELSEWHERE})
        membership = Membership(user=user, organisation=organisation, role=role, client=client)
        check(membership)
        membership.save(force_insert=True)
    return membership


def change_role(membership: Membership, role: str, client: Client | None) -> Membership:
    """Give the person another role. Raises ValidationError by field, also when nobody would be left to plan."""
    name_the_client(role, client)
    with all_or_nothing(Membership):
        _keep_a_consultant(membership, leaves=role != Role.CONSULTANT)
        row = current(membership)
        row.role, row.client = role, client
        check(row)
        row.save(force_update=True)
    return row


def take_away(membership: Membership) -> None:
    """Take the role away. The person's name stays on what they did."""
    with all_or_nothing(Membership):
        _keep_a_consultant(membership, leaves=True)
        membership.delete()


def name_the_client(role: str, client: Client | None) -> None:
    """A person of a client has one, and nobody else. Raises ValidationError."""
    if role == Role.CLIENT and client is None:
        raise ValidationError({"client": WHICH_CLIENT})
    if role in (Role.CONSULTANT, Role.FIELD) and client is not None:
        raise ValidationError({"client": NO_CLIENT_HERE})


def is_ours(user: User, organisation: Organisation) -> bool:
    """Whether the person has no role anywhere else and is not the operator."""
    return not user.is_superuser and not user.memberships.exclude(organisation=organisation).exists()


def password_link(membership: Membership) -> str:
    """Path of a page on which the person sets a password, once; "" when that is not ours to hand out."""
    user = membership.user
    if not user.is_active or not is_ours(user, membership.organisation):
        return ""
    uid = urlsafe_base64_encode(force_bytes(user.pk))
    return reverse("password-set", args=[uid, default_token_generator.make_token(user)])


def _keep_a_consultant(membership: Membership, *, leaves: bool) -> None:
    hold_organisation(membership.organisation_id)
    others = Membership.objects.filter(organisation=membership.organisation_id, role=Role.CONSULTANT)
    if leaves and not others.exclude(pk=membership.pk).exists():
        raise ValidationError({"role": LAST_CONSULTANT})
