from __future__ import annotations

import uuid

import pytest
from django.apps import apps
from django.contrib.auth.models import AnonymousUser
from django.http import Http404
from django.utils import timezone

from campaigns import access
from campaigns.models import ApiToken, Job, Organisation, Site, TokenScope, User


def test_colleagues_see_the_site(site: Site, consultant: User, field_staff: User) -> None:
    assert list(access.visible(consultant, Site)) == [site]
    assert list(access.visible(field_staff, Site)) == [site]


def test_only_consultants_change_it(site: Site, consultant: User, field_staff: User) -> None:
    assert list(access.changeable(consultant, Site)) == [site]
    assert not access.changeable(field_staff, Site).exists()


def test_others_see_nothing(site: Site, stranger: User, client_person: User) -> None:
    for nobody in (stranger, client_person, AnonymousUser(), None):
        assert not access.visible(nobody, Site).exists()


def test_a_strange_key_and_a_wrong_key_are_the_same(site: Site, stranger: User) -> None:
    for key in (site.key, uuid.uuid4()):
        with pytest.raises(Http404):
            access.find(stranger, Site, key)


def test_an_inactive_person_sees_nothing(site: Site, consultant: User) -> None:
    consultant.is_active = False
    assert not access.visible(consultant, Site).exists()


def test_a_token_reads_what_its_scopes_say(site: Site, token: ApiToken) -> None:
    assert list(access.visible(token, Site)) == [site]
    token.scopes = [TokenScope.READINGS]
    assert not access.visible(token, Site).exists()


def test_a_token_changes_nothing_and_expires(site: Site, token: ApiToken) -> None:
    assert not access.changeable(token, Site).exists()
    token.expires_at = timezone.now()
    assert not access.visible(token, Site).exists()


def test_what_is_not_registered_cannot_be_reached(organisation: Organisation, consultant: User) -> None:
    Job.objects.create(kind="x", subject_id=1, organisation=organisation)
    assert access.visible(consultant, Job).exists()
    assert not access.visible(consultant, User).exists()


def test_every_model_has_a_door_or_a_reason() -> None:
    #: Reached through memberships only; asked at the door; nobody's, and shown to nobody.
    behind_others = {"User", "PasswordTry", "Worker"}
    ours = {m for label in ("campaigns", "readings", "reports") for m in apps.get_app_config(label).get_models()}
    assert {m.__name__ for m in ours - set(access.registered())} == behind_others
