from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.cache import cache
from django.utils import timezone

from campaigns.models import ApiToken, Site
from tests import factories as make
from tests.api.program import Program, token_for


@pytest.fixture(autouse=True)
def _fresh_counts() -> None:
    """Nobody is throttled for what another test asked."""
    cache.clear()


@pytest.fixture
def program(token: ApiToken) -> Program:
    """Has a token of the organisation with every scope."""
    return Program(token.secret)  # type: ignore[attr-defined]


@pytest.fixture
def other_program(db: None) -> Program:
    """Has a token of another organisation with every scope."""
    return Program(token_for(make.OrganisationFactory.create(name="Other House"))[1])


@pytest.fixture
def anonymous(db: None) -> Program:
    return Program(None)


@pytest.fixture
def expired(site: Site) -> Program:
    return Program(token_for(site.organisation, expires_at=timezone.now() - timedelta(seconds=1))[1])
