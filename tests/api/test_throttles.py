"""RFC 6585, 4: 429 with Retry-After."""

from __future__ import annotations

from typing import Any

import pytest
from django.conf import LazySettings

from campaigns.models import Organisation
from tests.api.program import Program, token_for


@pytest.fixture
def _three_a_minute(settings: LazySettings) -> None:
    wanted: dict[str, Any] = {**settings.REST_FRAMEWORK, "DEFAULT_THROTTLE_RATES": {"token": "3/min"}}
    settings.REST_FRAMEWORK = wanted


@pytest.mark.usefixtures("_three_a_minute")
def test_each_token_has_its_own_count(program: Program, organisation: Organisation) -> None:
    assert [program.ask("sites/").status_code for _ in range(4)] == [200, 200, 200, 429]
    beside = Program(token_for(organisation)[1])
    assert beside.ask("sites/").status_code == 200


@pytest.mark.usefixtures("_three_a_minute")
def test_it_says_how_long_to_wait(program: Program) -> None:
    for _ in range(3):
        program.ask("sites/")
    response = program.ask("sites/")
    assert 0 < int(response.headers["Retry-After"]) <= 60


@pytest.mark.usefixtures("_three_a_minute")
def test_every_endpoint_counts(program: Program) -> None:
    answers = [program.ask(path).status_code for path in ("", "schema/", "findings/", "readings/")]
    assert answers == [200, 200, 200, 429]
