"""The test database and what of the app is put aside between tests. Loaded only where Django is."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Container, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from unittest import TestCase

import pytest
from auditlog.context import auditlog_disabled
from django.conf import settings
from django.db import connection
from django.test import TransactionTestCase, override_settings

from campaigns import guards
from reports.pages import content_cache
from reports.queries import report_heads
from tests.conftest import skip_unless

#: Fixtures by which a test says that it uses the database, where it does not say so by pytest.mark.django_db.
ASKING = {"db", "transactional_db", "live_server"}


def uses_database(item: pytest.Item) -> bool:
    if item.get_closest_marker("django_db") or ASKING.intersection(getattr(item, "fixturenames", ())):
        return True
    return issubclass(getattr(item, "cls", None) or object, TestCase)


_emptied: Any = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]


def emptied(case: TransactionTestCase) -> None:
    """On a server, after a test that commits: tables whose guards never let them be emptied are, and guarded again."""
    guards.lift(connection, ["TRUNCATE"])
    try:
        _emptied(case)
    finally:
        guards.install(connection)


@contextmanager
def unguarded(*tables: str) -> Iterator[None]:
    """What guards refuse can be done to rows of these tables: as somebody might who has the database in hand."""
    connection.check_constraints()  # those that wait for the end of a transaction would be in the way
    guards.lift(connection, tables=tables)
    try:
        yield
    finally:
        connection.check_constraints()
        guards.install(connection)


# --- one database for the tests of each worker ------------------------------------------------------------------------


@contextmanager
def locked(lock: Path) -> Iterator[None]:
    """Only one of the workers at a time; the folder is of this session, so no lock is older than it."""
    while True:
        try:
            lock.mkdir()
            break
        except FileExistsError:
            time.sleep(0.05)
    try:
        yield
    finally:
        lock.rmdir()


class Template:
    """A database that is migrated once, by whichever worker comes first, and copied for each of them."""

    def __init__(self, shared: Path, name: str) -> None:
        self.lock, self.made = shared / "database.lock", shared / "database.made"
        self.database = connection.settings_dict
        self.outside = self.database["NAME"]
        self.database["TEST"]["NAME"] = self.name = name
        self.is_file = connection.vendor == "sqlite"

    def copy(self, suffix: str) -> None:
        """From now on the connection is to a copy of its own."""
        with locked(self.lock):
            if not self.made.exists():
                connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
                self.made.touch()
            self._use(self.name)
            connection.creation.clone_test_db(suffix, verbosity=0, autoclobber=True)
            self._use(connection.creation.get_test_db_clone_settings(suffix)["NAME"])

    def _use(self, name: str) -> None:
        connection.close()
        self.database["NAME"] = settings.DATABASES[connection.alias]["NAME"] = name

    def copy_file(self, target: Path) -> None:
        """SQLite: the database as it is migrated, in place of whatever is at ``target``. Nobody is connected there."""
        for rest in ("-wal", "-shm"):
            Path(f"{target}{rest}").unlink(missing_ok=True)
        shutil.copy(self.name, target)

    def put_back(self) -> None:
        """SQLite, after a test that commits: no tables to empty and no limits to load again."""
        connection.close()
        self.copy_file(Path(self.database["NAME"]))

    def remove(self) -> None:
        """Files are left to pytest, which keeps the folders of the last sessions. On a server the copy goes, and the
        template unless another worker was first; one that still wants it makes it again."""
        if self.is_file:
            return self._use(self.outside)
        with locked(self.lock):
            connection.creation.destroy_test_db(self.outside, verbosity=0)
            if self.made.exists():
                self._use(self.name)
                connection.creation.destroy_test_db(self.outside, verbosity=0)
                self.made.unlink()
        return None


@pytest.fixture(scope="session")
def django_db_setup(
    tmp_path_factory: pytest.TempPathFactory, django_test_environment: None, django_db_blocker: Any
) -> Iterator[Template]:
    """In place of pytest-django's own, by which every worker would migrate a database of its own."""
    worker = os.environ.get("PYTEST_XDIST_WORKER")
    own = tmp_path_factory.getbasetemp()
    shared = own.parent if worker else own
    name = f"test_{connection.settings_dict['NAME']}"
    if connection.vendor == "sqlite":
        name = str(shared / "test.sqlite3")
    template = Template(shared, name)
    with django_db_blocker.unblock():
        template.copy(worker or "own")
    with pytest.MonkeyPatch.context() as patch:
        if template.is_file:
            patch.setattr(TransactionTestCase, "_fixture_teardown", lambda _: template.put_back())
        else:
            patch.setattr(TransactionTestCase, "_fixture_teardown", emptied)
        yield template
    with django_db_blocker.unblock():
        template.remove()


@pytest.fixture
def postgresql(db: None) -> None:
    skip_unless(connection.vendor == "postgresql", "postgresql", "the tests run on SQLite")


@pytest.fixture
def redis_url() -> str:
    skip_unless(bool(settings.REDIS_URL), "redis", "REDIS_URL is not set")
    return str(settings.REDIS_URL)


# --- what is put aside between tests ----------------------------------------------------------------------------------


@pytest.fixture(scope="session", autouse=True)
def _for_all_tests(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """What all tests have other than the app."""
    media = tmp_path_factory.mktemp("media")
    with override_settings(
        MEDIA_ROOT=media,
        WHITENOISE_USE_FINDERS=False,  # every test client would look for all static files first
        PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"],
    ):
        yield media


def files_in(folder: Path) -> set[Path]:
    return {Path(place, name) for place, _, names in os.walk(folder) for name in names}


def empty(folder: Path, *, but: Container[Path] = ()) -> None:
    """Folders go with their files: thousands of empty ones were walked through before and after every test."""
    for place, folders, names in os.walk(folder, topdown=False):
        for path in (Path(place, name) for name in names):
            if path not in but:
                path.unlink()
        for name in folders:
            with suppress(OSError):  # what is kept is in it
                Path(place, name).rmdir()


@pytest.fixture(autouse=True)
def _apart(request: pytest.FixtureRequest, _for_all_tests: Path) -> Iterator[None]:
    """Files of a test stay with the test, and so does what was read of its reports: made ones bear one digest."""
    if not uses_database(request.node):
        yield
        return
    content_cache.forget()
    report_heads.forget()
    before = files_in(_for_all_tests)  # of a world that several tests stand on
    yield
    empty(_for_all_tests, but=before)


# --- the history, which few tests look at -----------------------------------------------------------------------------


def no_history(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
    """Between a test and its database: nobody shall find nothing in a history that was not kept."""
    if 'FROM "auditlog_logentry"' in sql and sql.startswith("SELECT"):
        raise AssertionError("No history is kept in this test: mark it with pytest.mark.history.")
    return execute(sql, params, many, context)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_protocol(item: pytest.Item) -> Iterator[None]:
    """Changes are recorded only for tests that are marked ``history``: to record them is a third of the writing."""
    if item.get_closest_marker("history") or not uses_database(item):
        return (yield)
    token = auditlog_disabled.set(True)
    try:
        with connection.execute_wrapper(no_history):
            return (yield)
    finally:
        auditlog_disabled.reset(token)
