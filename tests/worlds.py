"""Worlds: what all tests of a file stand on is made once for the file, and undone after each of them by savepoints.

A file that wants one says ``pytestmark = pytest.mark.usefixtures("world_of_file")`` and how it is made by a function
``build(world)``; what that returns is ``own_world.built``, and each test has a copy of its own. The organisation
and the site of the cast are then those of the world. A folder says it by fixtures of its conftest: ``building``, and
an ``own_world`` that asks for ``world_of_file``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from campaigns.models import Membership, Organisation, Role, Site, User
from tests import factories as make
from tests.database import empty


@dataclass
class World:
    organisation: Organisation
    site: Site
    consultant: User | None = None  #: where ``build`` needs one
    built: Any = None


def an_organisation() -> Organisation:
    return make.OrganisationFactory(name="Lintel & Sill Air Consultants")


def a_site(organisation: Organisation) -> Site:
    return make.SiteFactory(organisation=organisation, name="Harbour House")


def member(organisation: Organisation, role: Role, email: str, **extra: object) -> User:
    user = make.UserFactory(email=email, house=organisation)
    Membership.objects.create(user=user, organisation=organisation, role=role, **extra)
    return user


def a_consultant(organisation: Organisation) -> User:
    user = member(organisation, Role.CONSULTANT, "consultant@fanlight.example")
    user.first_name, user.last_name = "C.", "Lintel"
    user.save()
    return user


Undone = Callable[[], AbstractContextManager[None]]


@pytest.fixture(scope="session")
def undone(django_db_setup: None, django_db_blocker: Any, _for_all_tests: Path) -> Undone:
    """``with undone():`` a place for fixtures of more than one test to make rows and files in, all gone afterwards."""

    @contextmanager
    def place() -> Iterator[None]:
        with django_db_blocker.unblock(), transaction.atomic():
            yield
            transaction.set_rollback(True)
        empty(_for_all_tests)

    return place


Build = Callable[[World], Any]


@pytest.fixture(scope="module")
def building(request: pytest.FixtureRequest) -> Build:
    build: Build = request.module.build
    return build


@pytest.fixture(scope="module")
def world_of_file(request: pytest.FixtureRequest, building: Build, undone: Undone) -> Iterator[World]:
    for item in request.session.items:
        mark = item.get_closest_marker("django_db") if item.path == request.path else None
        assert not (mark and mark.kwargs.get("transaction")), f"{item.name} commits: it needs a file without a world"
    with undone():
        organisation = an_organisation()
        world = World(organisation, a_site(organisation))
        world.built = building(world)
        yield world


@pytest.fixture
def own_world(request: pytest.FixtureRequest, db: None) -> World | None:
    """The test's own copy of the file's world: rows that it changes are as they were for the next test."""
    if "world_of_file" not in request.fixturenames:
        return None
    world: World = request.getfixturevalue("world_of_file")
    return deepcopy(world)
