"""Workers that say that they are there, also when they have nothing to do: a thread, and real workers."""

from __future__ import annotations

import json
import os
import signal
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from threading import active_count
from typing import Any
from unittest.mock import patch

import pytest
from django.db import OperationalError
from django.db.models.functions import Now
from structlog.contextvars import get_contextvars

from campaigns import enqueue, tasks
from campaigns.enqueue import Outcome
from campaigns.models import Job, Organisation, Worker
from campaigns.services import workers
from config.beating import Heart, name_of
from config.celery import forget_the_last_job
from tests.jobs.workers import Stage, wait_until


def names() -> list[str]:
    return list(Worker.objects.values_list("name", flat=True))


@pytest.mark.django_db
class TestRows:
    def test_one_row_that_moves(self) -> None:
        workers.beat("worker@here 1")
        Worker.objects.update(beat_at=Now() - timedelta(seconds=30))
        silence = workers.silence_s()
        assert silence is not None
        assert 30 <= silence < 60
        workers.beat("worker@here 1")
        assert names() == ["worker@here 1"]
        later = workers.silence_s()
        assert later is not None
        assert later < 20

    def test_who_is_silent_for_too_long_is_gone(self) -> None:
        assert (workers.beating(), workers.silence_s()) == (0, None)
        workers.beat("worker@here 1")
        workers.beat("worker@there 1")
        assert workers.beating() == 2
        Worker.objects.filter(name="worker@here 1").update(beat_at=Now() - timedelta(seconds=workers.SILENT_S + 1))
        assert workers.beating() == 1

    def test_who_ends_says_so_and_takes_old_rows_along(self) -> None:
        for name in ("old", "silent", "mine"):
            workers.beat(name)
        Worker.objects.filter(name="old").update(beat_at=Now() - workers.KEPT - timedelta(seconds=1))
        workers.leave("mine")
        assert names() == ["silent"]

    def test_a_beat_may_be_late_by_as_long_as_sqlite_may_keep_it_waiting(self) -> None:
        assert workers.SILENT_S > workers.BEAT_S + 30

    def test_it_is_called_by_what_celery_says_and_its_process(self) -> None:
        assert name_of("worker@here") == f"worker@here {os.getpid()}"
        assert len(name_of("w" * 300)) == 200


@pytest.mark.django_db(transaction=True)
class TestHeart:
    def test_it_beats_until_it_is_stopped(self) -> None:
        before, heart = active_count(), Heart("worker@here 1", every_s=0.05)
        heart.start()
        wait_until(lambda: names() == ["worker@here 1"], 20)
        first = Worker.objects.get().beat_at
        wait_until(lambda: Worker.objects.get().beat_at > first, 20)
        heart.stop()
        wait_until(lambda: active_count() == before, 20)
        assert names() == []

    def test_it_outlives_a_database_that_is_away(self) -> None:
        heart, beat, tries = Heart("worker@here 1", every_s=0.05), workers.beat, iter((True, True))

        def away_at_first(name: str) -> None:
            if next(tries, False):
                raise OperationalError("away")
            beat(name)

        with patch.object(workers, "beat", away_at_first):
            heart.start()
            wait_until(lambda: names() == ["worker@here 1"], 20)
            heart.stop()


@pytest.fixture
def stage(tmp_path: Path, transactional_db: None) -> Iterator[Stage]:
    stage = Stage(tmp_path)
    yield stage
    stage.stop()


@pytest.mark.django_db(transaction=True)
@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.xdist_group("servers")
class TestRealWorkers:
    def test_idle_ones_are_there_and_one_that_ends_says_so(self, stage: Stage) -> None:
        polite, killed = stage.worker(), stage.worker()
        wait_until(lambda: workers.beating() == 2)
        polite.send_signal(signal.SIGTERM)
        polite.wait(60)
        assert len(names()) == 1
        killed.kill()
        killed.wait(20)
        assert names()[0].endswith(f" {killed.pid}"), "it could say nothing, and is silent from now on"

    def test_they_log_as_the_settings_say(self, stage: Stage) -> None:
        """And not as Celery would."""
        log = stage.var / "worker.log"
        stage.env |= {"FANLIGHT_LOG_FORMAT": "json", "FANLIGHT_LOG_LEVEL": "INFO"}
        with log.open("wb") as written:
            worker = stage.worker(stderr=written)
            wait_until(lambda: workers.beating() == 1)
            worker.send_signal(signal.SIGTERM)
            worker.wait(60)
        said = [json.loads(line) for line in log.read_text().splitlines() if line.startswith("{")]
        assert any(line["logger"].startswith("celery") and line["level"] == "info" for line in said)


@pytest.mark.django_db
def test_lines_of_the_log_carry_the_job_that_is_worked_on(organisation: Organisation) -> None:
    seen: list[Any] = []

    def fails(job: Job) -> Outcome:
        seen.append(get_contextvars())
        raise ArithmeticError

    job = Job.objects.create(kind="tried", subject_id=1, organisation=organisation)
    with patch.dict(enqueue._handlers, {"tried": fails}), patch.object(tasks.log, "exception") as said:
        said.side_effect = lambda *_: seen.append(get_contextvars())
        forget_the_last_job()
        tasks.run_job(job.pk)
    assert [one["job"] for one in seen] == [job.pk, job.pk], "while it is done, and when it has failed"
    forget_the_last_job()  # as Celery does before the next task
    assert get_contextvars() == {}
