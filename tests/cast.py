"""The cast of every test: consultant, field staff and client of one organisation, a stranger of another, a token."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client

from campaigns.models import ApiToken, Organisation, Role, Site, TokenScope, User
from tests import factories as make
from tests.worlds import World, a_consultant, a_site, an_organisation, member


@pytest.fixture
def organisation(own_world: World | None) -> Organisation:
    return own_world.organisation if own_world else an_organisation()


@pytest.fixture
def site(own_world: World | None, organisation: Organisation) -> Site:
    return own_world.site if own_world else a_site(organisation)


@pytest.fixture
def consultant(own_world: World | None, organisation: Organisation) -> User:
    return (own_world and own_world.consultant) or a_consultant(organisation)


@pytest.fixture
def field_staff(organisation: Organisation) -> User:
    return member(organisation, Role.FIELD, "field@fanlight.example")


@pytest.fixture
def client_person(site: Site) -> User:
    return member(site.organisation, Role.CLIENT, "client@fanlight.example", client=site.client)


@pytest.fixture
def stranger(db: None) -> User:
    """A consultant of another organisation: may do everything there and nothing here."""
    return member(make.OrganisationFactory(name="Other House"), Role.CONSULTANT, "stranger@fanlight.example")


@pytest.fixture
def token(organisation: Organisation) -> ApiToken:
    """An API token with every scope; ``token.secret`` is what a program would send."""
    made = ApiToken(organisation=organisation, name="a program", scopes=list(TokenScope))
    made.secret = made.new_secret()  # type: ignore[attr-defined]
    made.save()
    return made


@pytest.fixture
def browse() -> object:
    """``browse(user)``: a test client logged in as that user; ``browse(None)`` is anonymous."""

    def as_(user: User | None) -> Client:
        client = Client()
        if user is not None:
            client.force_login(user)
        return client

    return as_


@pytest.fixture
def a_key() -> uuid.UUID:
    """A key that nothing has."""
    return uuid.uuid4()
