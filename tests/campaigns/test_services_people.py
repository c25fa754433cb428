"""Roles and API tokens, without a form."""

from __future__ import annotations

from datetime import UTC, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns.models import ApiToken, Membership, Organisation, Role, Site, User
from campaigns.services import people, tokens
from campaigns.services.removal import remove
from tests.campaigns.changes import told

pytestmark = pytest.mark.history


def role_of(person: User) -> Membership:
    return person.memberships.get()


@pytest.mark.parametrize("role", [Role.CONSULTANT, Role.FIELD])
def test_only_a_person_of_a_client_has_one(site: Site, consultant: User, field_staff: User, role: Role) -> None:
    assert site.client is not None
    with pytest.raises(ValidationError) as refused:
        people.add_person(site.organisation, "new@fanlight.example", "New Person", role, site.client)
    assert refused.value.message_dict == {"client": [people.NO_CLIENT_HERE]}
    with pytest.raises(ValidationError) as refused:
        people.change_role(role_of(field_staff), Role.CLIENT, None)
    assert refused.value.message_dict == {"client": [people.WHICH_CLIENT]}
    assert role_of(field_staff).role == Role.FIELD


def test_a_colleague_gets_another_role(consultant: User, field_staff: User) -> None:
    changed = people.change_role(role_of(field_staff), Role.CONSULTANT, None)
    assert [row[0] for row in told(changed)][:1] == ["changed"]
    people.change_role(role_of(consultant), Role.FIELD, None)
    with pytest.raises(ValidationError, match="This is the last consultant"):
        people.change_role(changed, Role.FIELD, None)
    with pytest.raises(ValidationError, match="This is the last consultant"):
        people.take_away(changed)


def test_a_stranger_stays_one(organisation: Organisation, stranger: User) -> None:
    added = people.add_person(organisation, stranger.email, "", Role.FIELD, None)
    assert added.user != stranger
    assert added.user.house == organisation


def test_a_refused_role_leaves_no_person_behind(organisation: Organisation) -> None:
    with pytest.raises(ValidationError):
        people.add_person(organisation, "new@fanlight.example", "New Person", "emperor", None)
    assert not User.objects.filter(email="new@fanlight.example").exists()


def test_a_token_tells_its_secret_once(organisation: Organisation, consultant: User) -> None:
    day = timezone.now().astimezone(UTC).date()
    made = tokens.make(organisation, by=consultant, name="a program", scopes=["places"], last_day=day)
    assert made.token.digest == ApiToken.digest_of(made.secret)
    assert (made.token.made_by, made.token.expired) == (consultant, False)
    assert made.token.expires_at is not None
    assert made.token.expires_at.astimezone(UTC).date() == day + timedelta(days=1)
    assert tokens.make(organisation, by=consultant, name="for ever", scopes=["places"]).token.expires_at is None
    remove(made.token)
    assert ApiToken.objects.get().name == "for ever"


@pytest.mark.parametrize("scopes", [[], ["places", "everything"]])
def test_a_token_reads_what_is_known(organisation: Organisation, consultant: User, scopes: list[str]) -> None:
    with pytest.raises(ValidationError) as refused:
        tokens.make(organisation, by=consultant, name="a program", scopes=scopes)
    assert refused.value.message_dict == {"scopes": [tokens.NO_SCOPE]}


def test_a_day_that_is_over_makes_no_token(organisation: Organisation, consultant: User) -> None:
    yesterday = timezone.now().astimezone(UTC).date() - timedelta(days=1)
    with pytest.raises(ValidationError) as refused:
        tokens.make(organisation, by=consultant, name="a program", scopes=["places"], last_day=yesterday)
    assert refused.value.message_dict == {"last_day": [tokens.OVER]}


def test_use_is_noted_once_a_minute(token: ApiToken) -> None:
    tokens.note_use(token)
    token.refresh_from_db()
    first = token.last_used_at
    assert first is not None
    tokens.note_use(token)
    token.refresh_from_db()
    assert token.last_used_at == first
