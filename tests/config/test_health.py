"""Whether a process lives, and whether what it stands on is there: yes or no, to anybody, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from threading import Event
from time import monotonic
from typing import Any
from unittest.mock import patch

import pytest
from django.conf import LazySettings
from django.db import OperationalError, connection
from django.db.models.functions import Now
from django.test import Client, override_settings

from campaigns.free_space import free_bytes
from campaigns.models import Job, Organisation, Worker
from campaigns.services import workers
from config import readiness
from config.readiness import Probe

pytestmark = pytest.mark.django_db

AWAY = OperationalError("could not connect to db.example as me")


@pytest.fixture(autouse=True)
def _asked_anew() -> Iterator[None]:
    for probe in (readiness.STORAGE, readiness.BROKER):
        probe.forget()
    yield
    for probe in (readiness.STORAGE, readiness.BROKER):
        probe.forget()


@pytest.fixture
def embedded(settings: LazySettings, tmp_path: Path) -> Path:
    """The broker of the embedded default, whatever this run uses; the folder of its messages."""
    settings.REDIS_URL, settings.BROKER_DIR = "", tmp_path
    (tmp_path / "queue").mkdir()
    return tmp_path / "queue"


def asked(client: Client, of: str = "") -> tuple[int, dict[str, Any]]:
    answer = client.get("/ready/", {"of": of} if of else {})
    return answer.status_code, answer.json()


class TestAlive:
    def test_it_lives_whatever_else_does(self, client: Client, django_assert_num_queries: Any) -> None:
        with patch.object(connection, "cursor", side_effect=AWAY):
            answer = client.get("/health/")
        assert (answer.status_code, answer.json()) == (200, {"process": "there"})
        with django_assert_num_queries(0):
            client.get("/health/")

    @pytest.mark.parametrize("path", ["/health/", "/ready/?of=database"])
    def test_it_is_asked_each_time_and_leaves_no_session(self, client: Client, path: str) -> None:
        answer = client.get(path)
        assert answer["Cache-Control"] == "private, no-store"
        assert not answer.cookies

    @pytest.mark.parametrize("path", ["/health/", "/ready/?of=database"])
    def test_it_is_asked_by_address_whatever_names_are_allowed(self, client: Client, path: str) -> None:
        with override_settings(ALLOWED_HOSTS=["air.example"]):
            assert client.get(path, headers={"host": "10.0.0.7:8000"}).status_code == 200
            assert client.get("/login/", headers={"host": "10.0.0.7:8000"}).status_code == 400


class TestReady:
    def test_all_is_well(self, client: Client, embedded: Path, settings: LazySettings) -> None:
        settings.LOW_SPACE_BYTES = 0
        workers.beat("worker@here 1")
        assert asked(client) == (
            200,
            {"database": "there", "storage": "there", "space": "there", "broker": "there", "worker": "there",
             "waiting": 0},
        )  # fmt: skip

    def test_the_database_is_away(self, client: Client, embedded: Path, settings: LazySettings) -> None:
        settings.LOW_SPACE_BYTES = 0
        with patch.object(connection, "cursor", side_effect=AWAY):
            status, said = asked(client)
        assert status == 503
        assert said == {
            "database": "away", "storage": "there", "space": "there", "broker": "there", "worker": "away",
            "waiting": "away",
        }  # fmt: skip
        with patch.object(connection, "cursor", side_effect=AWAY):
            assert b"db.example" not in client.get("/ready/").content, "where it is, is nobody's business"

    def test_that_it_is_not_ready_is_no_fault_to_be_logged(
        self, client: Client, caplog: pytest.LogCaptureFixture
    ) -> None:
        assert asked(client, "worker")[0] == 503
        assert caplog.records == []

    def test_a_part_alone(self, client: Client) -> None:
        assert asked(client, "database") == (200, {"database": "there"})
        assert asked(client, "worker")[0] == 503
        assert asked(client, "database,worker") == (503, {"database": "there", "worker": "away"})

    def test_a_part_that_there_is_not(self, client: Client) -> None:
        status, said = asked(client, "database,secret<b>")
        assert status == 400
        assert "secret" not in str(said)

    def test_nobody_is_there_to_work(self, client: Client) -> None:
        assert asked(client, "worker") == (503, {"worker": "away"})
        workers.beat("worker@here 1")
        assert asked(client, "worker") == (200, {"worker": "there"})
        Worker.objects.update(beat_at=Now() - timedelta(seconds=workers.SILENT_S + 1))
        assert asked(client, "worker") == (503, {"worker": "away"})

    def test_something_has_waited_for_too_long(self, client: Client, organisation: Organisation) -> None:
        Job.objects.create(kind="x", subject_id=1, organisation=organisation)
        Job.objects.update(created_at=Now() - timedelta(seconds=100))
        status, said = asked(client, "waiting")
        assert status == 200
        assert 100 <= said["waiting"] < 160
        with override_settings(WAITING_SECONDS=60):
            assert asked(client, "waiting")[0] == 503
            Job.objects.update(state=Job.State.RUNNING)
            assert asked(client, "waiting") == (200, {"waiting": 0})

    def test_the_disk_is_full_before_it_is(self, client: Client, settings: LazySettings) -> None:
        more = free_bytes() + 2**40
        settings.LOW_SPACE_BYTES = settings.KEEP_FREE_BYTES = 0
        assert asked(client, "space") == (200, {"space": "there"})
        settings.LOW_SPACE_BYTES = more
        assert asked(client, "space") == (200, {"space": "low"})
        settings.KEEP_FREE_BYTES = more
        assert asked(client, "space") == (503, {"space": "full"})


class TestStorage:
    def test_what_was_written_to_ask_is_gone(self, client: Client, settings: LazySettings, tmp_path: Path) -> None:
        settings.MEDIA_ROOT = tmp_path / "media"
        assert asked(client, "storage") == (200, {"storage": "there"})
        assert list((tmp_path / "media").iterdir()) == []

    def test_files_cannot_be_kept(self, client: Client, settings: LazySettings, tmp_path: Path) -> None:
        (tmp_path / "media").write_text("a file where the folder should be")
        settings.MEDIA_ROOT = tmp_path / "media"
        assert asked(client, "storage") == (503, {"storage": "away"})


class TestBroker:
    def test_a_folder_that_is_gone(self, client: Client, embedded: Path) -> None:
        embedded.rmdir()
        assert asked(client, "broker") == (503, {"broker": "away"})

    def test_a_redis_that_is_away(self, client: Client, settings: LazySettings) -> None:
        settings.REDIS_URL = "redis://:secret@127.0.0.1:1/0"
        assert asked(client, "broker") == (503, {"broker": "away"})

    def test_one_that_is_there(self, client: Client, redis_url: str) -> None:
        assert asked(client, "broker") == (200, {"broker": "there"})


class TestProbes:
    def test_what_hangs_holds_nobody_up_and_is_asked_once(self) -> None:
        go_on, calls = Event(), []

        def hangs() -> bool:
            calls.append(1)
            return go_on.wait(30)

        probe = Probe(hangs)
        with patch.object(readiness, "WAIT_S", 0.2), patch.object(readiness, "KEPT_S", 0.0):
            assert probe() is False
            begun = monotonic()
            assert [probe() for _ in range(5)] == [False] * 5
            assert monotonic() - begun < 0.2, "it is known to hang"
            assert calls == [1]
        go_on.set()
        assert probe._thread is not None
        probe._thread.join(10)
        assert probe() is True, "it has answered after all"

    def test_anybody_may_ask_and_it_is_looked_at_seldom(self) -> None:
        calls: list[int] = []

        def answers() -> bool:
            calls.append(1)
            return True

        probe = Probe(answers)
        assert all(probe() for _ in range(50))
        assert calls == [1]
        probe.forget()
        assert probe()
        assert calls == [1, 1]
