"""The cast of every test: consultant, field staff and client of one organisation, a stranger of another, a token."""

from __future__ import annotations

import os
import uuid
from pathlib import Path

import pytest
from django.conf import LazySettings, settings
from django.test import Client

from campaigns.models import ApiToken, Membership, Organisation, Role, Site, TokenScope, User
from reports.pages import content_cache
from tests import factories as make

TESTS = Path(__file__).parent
#: Tests of modules that know no database, and of the tree itself.
WITHOUT_DATABASE = ("methods", "architecture")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks what says the same whatever the database, so that CI runs it once."""
    for item in items:
        asks = {"db", "transactional_db"} & set(getattr(item, "fixturenames", ()))
        if not asks and item.path.relative_to(TESTS).parts[0] in WITHOUT_DATABASE:
            item.add_marker("pure")


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """What tests say of the tree besides passing (``record_property("says", …)``)."""
    reports = [report for outcome in ("passed", "failed") for report in terminalreporter.stats.get(outcome, ())]
    for line in sorted({str(line) for report in reports for key, line in report.user_properties if key == "says"}):
        terminalreporter.write_line(line)


@pytest.fixture(autouse=True)
def _apart(settings: LazySettings, tmp_path: Path) -> None:
    """Files of a test stay with the test, and so does what was read of its reports: made ones bear one digest."""
    content_cache.forget()
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.WHITENOISE_USE_FINDERS = False  # every test client would look for all static files first
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]


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


# --- services: used whenever they are there, and CI says which must be (FANLIGHT_REQUIRE=postgresql,redis,browser) ---


def required(name: str) -> bool:
    return name in os.environ.get("FANLIGHT_REQUIRE", "").split(",")


def skip_unless(there: bool, name: str, why: str) -> None:
    if there:
        return
    if required(name):
        pytest.fail(f"FANLIGHT_REQUIRE names {name}, but {why}")
    pytest.skip(why)


@pytest.fixture
def postgresql(db: None) -> None:
    engine = settings.DATABASES["default"]["ENGINE"]
    skip_unless(engine.endswith("postgresql"), "postgresql", "the tests run on SQLite")


@pytest.fixture
def redis_url() -> str:
    skip_unless(bool(settings.REDIS_URL), "redis", "REDIS_URL is not set")
    return str(settings.REDIS_URL)


@pytest.fixture
def a_key() -> uuid.UUID:
    """A key that nothing has."""
    return uuid.uuid4()
