"""Who works here, and with which role.

No mail server is assumed: a new person gets a link, handed over by whoever added them, with which they set a password
once. Nothing here proves that an address is read by its owner. So an address that already has a role in another
organisation is not added by a consultant: whoever made it there could otherwise log in and read here. The operator,
who is trusted by all, can.
"""

from __future__ import annotations

from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from campaigns.models import Client, Membership, Organisation, Role, User

ELSEWHERE = "This address cannot be added here. Ask the operator of this server."
LAST_CONSULTANT = "This is the last consultant. Make somebody else a consultant first."


def add_person(organisation: Organisation, email: str, name: str, role: str, client: Client | None) -> Membership:
    """Give the person of this address a role. Raises ValidationError with the reason why not, by field."""
    with transaction.atomic():
        user = User.objects.filter(email__iexact=email).first()
        if user is None:
            first, _, last = name.strip().rpartition(" ")
            user = User.objects.create_user(email, first_name=first, last_name=last)
        elif not is_ours(user, organisation):
            raise ValidationError({"email": ELSEWHERE})
        membership = Membership(user=user, organisation=organisation, role=role, client=client)
        membership.full_clean()
        membership.save()
    return membership


def change_role(membership: Membership) -> None:
    """Save a changed role. Raises ValidationError when nobody would be left to plan."""
    with transaction.atomic():
        _keep_a_consultant(membership, leaves=membership.role != Role.CONSULTANT)
        membership.save()


def take_away(membership: Membership) -> None:
    """Take the role away. The person's name stays on what they did."""
    with transaction.atomic():
        _keep_a_consultant(membership, leaves=True)
        membership.delete()


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
    # The organisation's row is the lock: two consultants who remove each other at once come one after the other.
    Organisation.objects.select_for_update().get(pk=membership.organisation_id)
    others = Membership.objects.filter(organisation=membership.organisation_id, role=Role.CONSULTANT)
    if leaves and not others.exclude(pk=membership.pk).exists():
        raise ValidationError({"role": LAST_CONSULTANT})
