"""Who works here, and with which role.

No mail server is assumed: a new person gets a link, handed over by whoever added them, with which they set a password
once. Nothing here proves that an address is read by its owner. So each organisation has accounts of its own, also for
an address that another one knows: whoever made it there could otherwise log in and read here. Who has no role left
loses password, sessions and links, and begins with a new link when they come back.
"""

from __future__ import annotations

from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils.http import urlsafe_base64_encode

from campaigns import history
from campaigns.models import Client, Membership, Organisation, Role, User
from campaigns.services.locks import hold_organisation
from campaigns.services.records import all_or_nothing, check, current
from campaigns.services.tokens import end_those_of

WHICH_CLIENT = "Which client? They read what was released to this client only."
NO_CLIENT_HERE = "Only a person of a client has one. Leave it empty."
LAST_CONSULTANT = "This is the last consultant. Make somebody else a consultant first."
LINK, PASSWORD, NAME = "password link", "password", "name"


def add_person(organisation: Organisation, email: str, name: str, role: str, client: Client | None) -> Membership:
    """Give the person of this address a role. Raises ValidationError with the reason why not, by field."""
    name_the_client(role, client)
    with all_or_nothing(Membership):
        user = _account(organisation, email)
        if user is None:
            user = User(email=email, house=organisation)
            user.set_unusable_password()
            _keep_account(user, name)
        elif not user.memberships.exists():
            _shut(user)  # whatever an earlier role has left: a new one begins with a new link
            _keep_account(user, name or user.get_full_name())
        membership = Membership(user=user, organisation=organisation, role=role, client=client)
        check(membership)
        membership.save(force_insert=True)
    return membership


def change_role(membership: Membership, role: str, client: Client | None, name: str | None = None) -> Membership:
    """Give the person another role; ``name``: put their name right, None leaves it, as does an account that is not
    ours alone. Raises ValidationError by field, also when nobody would be left to plan."""
    name_the_client(role, client)
    with all_or_nothing(Membership):
        _keep_a_consultant(membership, leaves=role != Role.CONSULTANT)
        row = current(membership)
        row.role, row.client = role, client
        check(row)
        row.save(force_update=True)
        if role != Role.CONSULTANT:
            end_those_of(row.user, row.organisation)
        if name is not None and is_ours(row.user, row.organisation):
            _rename(row, name)
    return row


def take_away(membership: Membership) -> None:
    """Take the role away, and with the last one all that lets the person in. Their name stays on what they did."""
    with all_or_nothing(Membership):
        _keep_a_consultant(membership, leaves=True)
        user = User.objects.select_for_update().get(pk=membership.user_id)
        end_those_of(user, membership.organisation)
        membership.delete()
        if not user.is_superuser and not user.memberships.exists():
            _shut(user)


def name_the_client(role: str, client: Client | None) -> None:
    """A person of a client has one, and nobody else. Raises ValidationError."""
    if role == Role.CLIENT and client is None:
        raise ValidationError({"client": WHICH_CLIENT})
    if role in (Role.CONSULTANT, Role.FIELD) and client is not None:
        raise ValidationError({"client": NO_CLIENT_HERE})


def is_ours(user: User, organisation: Organisation) -> bool:
    """Whether the person has no role anywhere else and is not the operator."""
    return not user.is_superuser and not user.memberships.exclude(organisation=organisation).exists()


def password_link(membership: Membership, by: User | None = None) -> str:
    """Path of a page on which the person sets a password, once; "" when that is not ours to hand out.

    Whoever sees it can set the password, so that it was made, and by whom, stands in the history.
    """
    user = membership.user
    if not user.is_active or not is_ours(user, membership.organisation):
        return ""
    history.note(membership, LINK, "made", by)
    code = urlsafe_base64_encode(user.key.bytes)
    return reverse("password-set", args=[code, default_token_generator.make_token(user)])


def note_of(user: User, what: str, after: str, by: User | None = None) -> None:
    """What was done with somebody's account, in the history of each of their roles."""
    for membership in user.memberships.all():
        history.note(membership, what, after, by)


def _account(organisation: Organisation, email: str) -> User | None:
    """The account of this address here: one with a role, or one that the house has made, held until the end."""
    held = User.objects.select_for_update(of=("self",)).filter(email=email)
    return (
        held.filter(pk__in=Membership.objects.filter(organisation=organisation).values("user")).first()
        or held.filter(house=organisation).first()
    )


def _keep_account(user: User, name: str) -> None:
    """Raises ValidationError, of the name as one."""
    user.first_name, _, user.last_name = " ".join(name.split()).rpartition(" ")
    try:
        user.full_clean(exclude=["password"])
    except ValidationError as refused:
        told = refused.message_dict
        for part in ("first_name", "last_name"):
            if part in told:
                told["name"] = told.pop(part)
        raise ValidationError(told) from refused
    user.save()


def _rename(membership: Membership, name: str) -> None:
    user = User.objects.select_for_update().get(pk=membership.user_id)
    before = user.get_full_name()
    if (wanted := " ".join(name.split())) != before:
        _keep_account(user, wanted)
        history.note(membership, NAME, wanted, before=before)
        membership.user = user


def _shut(user: User) -> None:
    """No password; sessions and links end with the old one, because both are signed with it."""
    user.set_unusable_password()
    user.save(update_fields=["password"])


def _keep_a_consultant(membership: Membership, *, leaves: bool) -> None:
    hold_organisation(membership.organisation_id)
    others = Membership.objects.filter(organisation=membership.organisation_id, role=Role.CONSULTANT)
    if leaves and not others.exclude(pk=membership.pk).exists():
        raise ValidationError({"role": LAST_CONSULTANT})
