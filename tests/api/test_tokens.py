"""Bearer tokens as RFC 6750 sends them, and the 401 of RFC 9110, 11.6.1: always with a challenge."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client
from django.utils import timezone
from rest_framework.test import APIRequestFactory
from rest_framework.views import APIView

from campaigns.api.tokens import ANY, HasScope
from campaigns.models import ApiToken, Site, TokenScope, User
from tests.api.program import ROOT, Program, counted, token_for


@pytest.fixture
def secret(token: ApiToken) -> str:
    return str(token.secret)  # type: ignore[attr-defined]


def status(authorization: str) -> int:
    return Client(headers={"Authorization": authorization}).get(ROOT).status_code


def test_the_scheme_is_read_in_any_case(secret: str) -> None:
    assert [status(f"{scheme} {secret}") for scheme in ("Bearer", "bearer", "BEARER")] == [200, 200, 200]


@pytest.mark.parametrize(
    "authorization", ["", "Bearer", "Bearer ", "Bearer fl_", "{}", "Token {}", "Basic {}", "Bearer {}x"]
)
def test_anything_else_is_401(secret: str, authorization: str) -> None:
    response = Client(headers={"Authorization": authorization.format(secret)}).get(ROOT)
    assert response.status_code == 401
    assert response.headers["WWW-Authenticate"].startswith('Bearer realm="Fanlight"')


def test_the_digest_is_no_secret(token: ApiToken) -> None:
    """Who can read the database cannot use the API."""
    assert status(f"Bearer {token.digest}") == 401


def test_a_refused_token_is_named_as_such(expired: Program, anonymous: Program) -> None:
    """RFC 6750, 3.1: invalid_token, and no error code for a request without any credentials."""
    assert 'error="invalid_token"' in expired.ask("").headers["WWW-Authenticate"]
    assert "error" not in anonymous.ask("").headers["WWW-Authenticate"]
    assert expired.ask("").json() == {"detail": "This token has expired."}


def test_it_works_until_it_expires(site: Site) -> None:
    later, now = timezone.now() + timedelta(hours=1), timezone.now()
    assert status(f"Bearer {token_for(site.organisation, expires_at=later)[1]}") == 200
    assert status(f"Bearer {token_for(site.organisation, expires_at=now)[1]}") == 401


def test_a_deleted_token_stops_at_once(token: ApiToken, secret: str) -> None:
    token.delete()
    assert status(f"Bearer {secret}") == 401


def test_a_session_is_no_token(consultant: User) -> None:
    client = Client()
    client.force_login(consultant)
    assert client.get(ROOT).status_code == 401
    assert client.get(f"{ROOT}sites/").status_code == 401


def test_the_use_is_noted_at_most_once_a_minute(token: ApiToken, program: Program) -> None:
    before = timezone.now()
    program.ask("sites/")
    token.refresh_from_db()
    noted = token.last_used_at
    assert noted is not None
    assert before <= noted <= timezone.now()
    with counted() as seen:
        program.ask("sites/")
    assert not [sql for sql in seen if sql.startswith("UPDATE")]
    token.refresh_from_db()
    assert token.last_used_at == noted
    ApiToken.objects.update(last_used_at=noted - timedelta(minutes=1))
    program.ask("sites/")
    token.refresh_from_db()
    assert token.last_used_at is not None
    assert token.last_used_at >= noted


def test_a_refused_token_is_not_noted_as_used(site: Site) -> None:
    token, secret = token_for(site.organisation, expires_at=timezone.now())
    Program(secret).ask("sites/")
    token.refresh_from_db()
    assert token.last_used_at is None


class TestHasScope:
    @pytest.mark.parametrize(
        ("scope", "may"),
        [(TokenScope.PLACES, True), (TokenScope.READINGS, False), (ANY, True), (None, False), ("other", False)],
    )
    def test_a_view_that_names_no_known_scope_is_closed(self, scope: str | None, may: bool) -> None:
        request = APIView().initialize_request(APIRequestFactory().get("/"))
        request.auth = ApiToken(scopes=[TokenScope.PLACES])
        view = APIView()
        if scope is not None:
            view.scope = scope  # type: ignore[attr-defined]
        assert HasScope().has_permission(request, view) is may

    def test_any_is_no_scope_that_a_token_could_carry(self) -> None:
        assert ANY not in TokenScope.values
