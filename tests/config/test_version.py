"""The version: one place, told to whoever has logged in or shows a token, and to nobody else."""

from __future__ import annotations

import tomllib
from unittest.mock import patch

import pytest
from django.test import Client

from campaigns.models import ApiToken, Site, User
from config import version
from config.version import HEADER, VERSION
from tests.campaigns.pages import Browse, text
from tests.config.starting import ROOT


def test_it_is_that_of_the_project() -> None:
    assert tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]["version"] == VERSION


def test_where_it_was_installed_it_is_that_of_the_package() -> None:
    with (
        patch("pathlib.Path.read_text", side_effect=FileNotFoundError),
        patch.object(version, "version", lambda name: f"9.9 of {name}"),
    ):
        assert version._read() == "9.9 of fanlight"


@pytest.mark.django_db
def test_pages_end_with_it(browse: Browse, consultant: User, client_person: User, site: Site) -> None:
    assert site.organisation_id
    assert text(browse(consultant).get("/sites/")).count(f"Fanlight {VERSION}") == 1
    assert f"Fanlight {VERSION}" in text(browse(client_person).get("/findings/"))
    for path in ("/login/", "/nowhere/"):
        answer = browse(None).get(path)
        assert VERSION not in text(answer), "strangers need not know which holes to try"
        assert HEADER not in answer


@pytest.mark.django_db
def test_programs_with_a_token_are_told(client: Client, token: ApiToken) -> None:
    shown = {"Authorization": f"Bearer {token.secret}"}  # type: ignore[attr-defined]
    answer = client.get("/api/v1/sites/", headers=shown)
    assert (answer.status_code, answer[HEADER]) == (200, VERSION)
    assert HEADER not in client.get("/api/v1/sites/")
    assert HEADER not in client.get("/api/v1/sites/", headers={"Authorization": "Bearer fl_none"})
