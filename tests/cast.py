"""The cast of every test: consultant, field staff and client of one organisation, a stranger of another, a token."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client

from campaigns.models import ApiToken, Membership, Organisation, Role, Site, TokenScope, User
from tests import factories as make


@pytest.fixture
def organisation(db: None) -> Organisation:
    return make.OrganisationFactory(name="Lintel & Sill Air Consultants")


@pytest.fixture
def site(organisation: Organisation) -> Site:
    return make.SiteFactory(organisation=organisation, name="Harbour House")


def member(organisation: Organisation, role: Role, email: str, **extra: object) -> User:
    user = make.UserFactory(email=email)
    Membership.objects.create(user=user, organisation=organisation, role=role, **extra)
    return user


@pytest.fixture
def consultant(organisation: Organisation) -> User:
    return member(organisation, Role.CONSULTANT, "consultant@fanlight.example")


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
