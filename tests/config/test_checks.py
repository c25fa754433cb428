"""What would go wrong later is said at the start."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import patch

import pytest
from django.apps import apps
from django.conf import LazySettings
from django.core.checks import Tags, registry

from config import checks
from methods.quantities.substances import SubstanceDataError
from tests.methods.substance_rows import OCTANAL, add_row, forget_words

SQLITE = {"default": {"ENGINE": "django.db.backends.sqlite3"}}
POSTGRESQL = {"default": {"ENGINE": "django.db.backends.postgresql"}}


def codes(found: list[Any]) -> list[str]:
    return [message.id for message in found]


def test_words_of_substances_are_looked_at_before_any_log(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    add_row(OCTANAL.replace('"octanal",', '"time",'), tmp_path, monkeypatch)
    try:
        with pytest.raises(SubstanceDataError, match="octanal: aliases: 'time'"):
            apps.get_app_config("readings").ready()
    finally:
        forget_words()


class TestVar:
    def test_writable(self, settings: LazySettings, tmp_path: Path) -> None:
        settings.VAR_DIR = tmp_path
        assert checks.var_is_writable() == []

    def test_not(self, settings: LazySettings, tmp_path: Path) -> None:
        settings.VAR_DIR = tmp_path / "gone"
        (found,) = checks.var_is_writable()
        assert found.id == "fanlight.E001"
        assert "FANLIGHT_VAR" in str(found.hint)


class TestHalfEmbedded:
    @pytest.mark.parametrize(
        ("databases", "redis", "debug", "expected"),
        [
            (SQLITE, "", False, []),
            (SQLITE, "redis://h", False, []),
            (POSTGRESQL, "redis://h", False, []),
            (POSTGRESQL, "", True, []),
            (POSTGRESQL, "", False, ["fanlight.W001"]),
        ],
    )
    def test_postgresql_without_redis(self, databases: Any, redis: str, debug: bool, expected: list[str]) -> None:
        with patch.object(checks, "settings", SimpleNamespace(DATABASES=databases, REDIS_URL=redis, DEBUG=debug)):
            assert codes(checks.half_embedded()) == expected


class TestHttps:
    @pytest.mark.parametrize(
        ("hosts", "https", "expected"),
        [
            (["localhost", "127.0.0.1", "[::1]"], False, []),
            (["air.example"], True, []),
            (["localhost", "air.example"], False, ["fanlight.W002"]),
        ],
    )
    def test_public_without_it(
        self, settings: LazySettings, hosts: list[str], https: bool, expected: list[str]
    ) -> None:
        settings.ALLOWED_HOSTS, settings.HTTPS = hosts, https
        found = checks.public_without_https()
        assert codes(found) == expected
        assert all("air.example" in message.msg for message in found)

    def test_only_asked_before_a_deployment(self) -> None:
        assert checks.public_without_https in registry.registry.deployment_checks


class TestDatabaseVersion:
    def ask(self, vendor: str, version: int, databases: list[str] | None = None) -> list[str]:
        fake = SimpleNamespace(vendor=vendor, pg_version=version)
        with patch.object(checks, "connection", fake):
            return codes(checks.database_version(databases=["default"] if databases is None else databases))

    def test_postgresql_14_is_the_oldest(self) -> None:
        assert self.ask("postgresql", 140000) == []
        assert self.ask("postgresql", 139999) == ["fanlight.E002"]

    def test_sqlite_is_not_asked(self) -> None:
        assert self.ask("sqlite", 0) == []

    def test_nobody_is_asked_before_the_database_is_there(self) -> None:
        assert self.ask("postgresql", 90000, []) == []


@pytest.mark.django_db
def test_they_are_registered_and_pass_here() -> None:
    ours = {check for check in registry.registry.get_checks() if check.__module__ == "config.checks"}
    assert ours == {checks.var_is_writable, checks.half_embedded, checks.database_version, checks.guards_stand}
    assert checks.var_is_writable() == []
    assert checks.database_version(databases=["default"]) == []
    assert Tags.database in checks.database_version.tags
