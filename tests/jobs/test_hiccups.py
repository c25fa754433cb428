"""What passes by itself is tried again, within the attempts and each time later; everything else is not."""

from __future__ import annotations

import errno
import gc
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from typing import Any
from unittest.mock import patch

import kombu.exceptions
import psycopg
import pytest
import redis
from django.conf import LazySettings
from django.core.exceptions import ValidationError
from django.db import InterfaceError, OperationalError, ProgrammingError, connection
from django.utils import timezone

from campaigns import enqueue as dispatcher
from campaigns import parallel, tasks
from campaigns.enqueue import Outcome, ask_again, enqueue, handles
from campaigns.hiccups import hiccup_of
from campaigns.models import Job, Organisation
from campaigns.parallel import HandLost
from campaigns.tasks import run_job, sweep

DONE: Outcome = (Job.State.DONE, "ok", "")


@pytest.fixture
def probe() -> Iterator[Callable[..., Job]]:
    """``probe(handler)``: a job that ``handler`` does. No handler is left behind."""
    before = dict(dispatcher._handlers)

    def ask(organisation: Organisation, handler: dispatcher.Handler) -> Job:
        handles("probe", "Probe")(handler)
        return enqueue("probe", 1, organisation_id=organisation.pk, owner=None)

    yield ask
    dispatcher._handlers.clear()
    dispatcher._handlers.update(before)


def raised(cause: Exception, kind: type[Exception] = OperationalError) -> Exception:
    """As Django raises what a driver raised."""
    try:
        try:
            raise cause
        except Exception as error:
            raise kind(str(error)) from error
    except Exception as error:
        return error


def sqlite_error(code: int) -> Exception:
    error = sqlite3.OperationalError("said by the database")
    error.sqlite_errorcode = code
    return raised(error)


of_storage: Any = import_module("botocore.exceptions")


def client_error(status: int) -> Exception:
    said = {"Error": {"Code": str(status)}, "ResponseMetadata": {"HTTPStatusCode": status}}
    error: Exception = of_storage.ClientError(said, "GetObject")
    return error


PASSES = [
    (raised(psycopg.errors.DeadlockDetected()), "database-busy"),
    (raised(psycopg.errors.SerializationFailure()), "database-busy"),
    (raised(psycopg.errors.AdminShutdown()), "database-away"),
    (raised(psycopg.errors.DiskFull()), "no-space"),
    (raised(psycopg.errors.TooManyConnections()), "database-away"),
    (raised(psycopg.OperationalError("server closed the connection unexpectedly")), "database-away"),
    (raised(psycopg.InterfaceError("the connection is closed"), InterfaceError), "database-away"),
    (sqlite_error(sqlite3.SQLITE_BUSY), "database-busy"),
    (sqlite_error(sqlite3.SQLITE_IOERR_WRITE), "database-away"),
    (sqlite_error(sqlite3.SQLITE_FULL), "no-space"),
    (OperationalError("database is locked"), "database-busy"),
    (OSError(errno.ENOSPC, "No space left on device"), "no-space"),
    (OSError(errno.EDQUOT, "Disk quota exceeded"), "no-space"),
    (OSError(errno.EIO, "Input/output error"), "storage-away"),
    (ConnectionResetError(), "storage-away"),
    (of_storage.EndpointConnectionError(endpoint_url="http://127.0.0.1:1"), "storage-away"),
    (of_storage.ReadTimeoutError(endpoint_url="http://127.0.0.1:1"), "storage-away"),
    (client_error(503), "storage-away"),
    (redis.ConnectionError(), "broker-away"),
    (kombu.exceptions.OperationalError(), "broker-away"),
    (HandLost("A process ended before its work was done."), "process-lost"),
]
STAYS = [
    ZeroDivisionError(),
    sqlite_error(sqlite3.SQLITE_ERROR),  # no such table
    raised(psycopg.errors.UndefinedTable(), ProgrammingError),
    raised(psycopg.errors.InvalidPassword()),
    FileNotFoundError(errno.ENOENT, "No such file or directory"),
    PermissionError(errno.EACCES, "Permission denied"),
    client_error(404),
]


@pytest.mark.parametrize(("error", "code"), PASSES, ids=lambda it: it if isinstance(it, str) else repr(it)[:40])
def test_what_passes(error: Exception, code: str) -> None:
    found = hiccup_of(raised(error, RuntimeError))  # whatever it was wrapped in
    assert found is not None
    assert found.code == code


@pytest.mark.parametrize("error", STAYS, ids=lambda it: repr(it)[:40])
def test_what_does_not_pass(error: Exception) -> None:
    assert hiccup_of(error) is None


def test_it_waits_longer_each_time_and_is_given_up_after_the_last_attempt(
    organisation: Organisation, settings: LazySettings, probe: Callable[..., Job]
) -> None:
    settings.JOB_MAX_ATTEMPTS, settings.JOB_RETRY_SECONDS = 4, 5

    def full(job: Job) -> Outcome:
        raise OSError(errno.ENOSPC, "No space left on device")

    job = probe(organisation, full)
    waits = []
    for attempt in range(1, 5):
        run_job(job.pk)
        job.refresh_from_db()
        assert job.attempts == attempt
        if attempt < 4:
            assert (job.state, job.code, job.claim) == (Job.State.QUEUED, "tried-again", None)
            assert "no space left" in job.message
            assert job.due_at is not None
            waits.append(round((job.due_at - timezone.now()).total_seconds()))
            run_job(job.pk)  # too early: nothing happens
            assert sweep()["sent"] == 0
            Job.objects.filter(pk=job.pk).update(due_at=timezone.now() - timedelta(seconds=1))
            assert Job.objects.get(pk=job.pk).attempts == attempt
    assert waits == pytest.approx([5, 15, 45], abs=1)
    assert (job.state, job.code) == (Job.State.FAILED, "given-up")
    assert job.message == (
        "There is no space left to store anything. Tell the operator. It was tried 4 times and given up."
    )
    assert job.may_be_asked_again


def test_the_sweep_sends_it_when_it_is_due(organisation: Organisation, probe: Callable[..., Job]) -> None:
    tried: list[int] = []

    def once(job: Job) -> Outcome:
        tried.append(job.attempts)
        if len(tried) == 1:
            raise OSError(errno.EIO, "Input/output error")
        return DONE

    job = probe(organisation, once)
    run_job(job.pk)
    # Sent a second ago and due now: the usual wait for a message that was lost does not come on top.
    now = timezone.now()
    Job.objects.update(due_at=now - timedelta(seconds=1), sent_at=now - timedelta(seconds=2))
    with patch.object(run_job, "apply_async") as sent:
        assert sweep() == {"returned": 0, "sent": 1}
    sent.assert_called_once()
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, tried) == (Job.State.DONE, [1, 2])


def test_who_asks_again_does_not_wait(organisation: Organisation, probe: Callable[..., Job]) -> None:
    def away(job: Job) -> Outcome:
        raise ConnectionResetError

    job = probe(organisation, away)
    run_job(job.pk)
    assert enqueue("probe", 1, organisation_id=organisation.pk, owner=None) == job
    assert Job.ready().filter(pk=job.pk).exists()


def test_work_that_waits_already_is_not_tried_twice(organisation: Organisation, probe: Callable[..., Job]) -> None:
    def asked_meanwhile(job: Job) -> Outcome:
        enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
        raise ConnectionResetError

    job = probe(organisation, asked_meanwhile)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.code) == (Job.State.SUPERSEDED, "superseded")
    assert job.state not in Job.TO_LOOK_AT, "it is no failure"
    assert Job.objects.filter(kind="probe", state=Job.State.QUEUED).count() == 1


def test_a_lease_that_ran_out_beside_newer_work_is_overtaken(organisation: Organisation) -> None:
    silent = Job.objects.create(kind="probe", subject_id=1, organisation=organisation)
    assert Job.take(silent.pk)
    Job.objects.update(beat_at=timezone.now() - timedelta(hours=1))
    Job.objects.create(kind="probe", subject_id=1, organisation=organisation)
    assert Job.give_back() == 1
    silent.refresh_from_db()
    assert (silent.state, silent.message) == (
        Job.State.SUPERSEDED, "The same was asked for again meanwhile, from newer inputs.",
    )  # fmt: skip


def test_only_what_failed_for_a_reason_of_ours_is_asked_for_again(
    organisation: Organisation, probe: Callable[..., Job]
) -> None:
    def stumbles(job: Job) -> Outcome:
        raise ZeroDivisionError

    job = probe(organisation, stumbles)
    run_job(job.pk)
    job.refresh_from_db()
    again = ask_again(job, None)
    assert (again.pk != job.pk, again.state) == (True, Job.State.QUEUED)
    Job.objects.filter(pk=again.pk).update(state=Job.State.FAILED, code="unreadable")
    again.refresh_from_db()
    with pytest.raises(ValidationError, match="done, or under way"):
        ask_again(again, None)


@pytest.mark.django_db(transaction=True)
@pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="forks only where that is safe")
def test_a_killed_hand_is_tried_again(organisation: Organisation, probe: Callable[..., Job], tmp_path: Path) -> None:
    been = tmp_path / "been"

    def part(which: int) -> Iterator[int]:
        if which == 1 and not been.exists():
            been.touch()
            os.kill(os.getpid(), signal.SIGKILL)
        yield which

    def shared(job: Job) -> Outcome:
        with parallel.shared_out(part, [1, 2], job.beat) as results:
            return Job.State.DONE, "ok", f"{sum(results)}"

    job = probe(organisation, shared)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.code) == (Job.State.QUEUED, "tried-again")
    Job.objects.update(due_at=None)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.message, job.attempts) == (Job.State.DONE, "3", 2)


HOLDS = (
    "import sqlite3, sys; held = sqlite3.connect(sys.argv[1], isolation_level=None); "
    "held.execute('BEGIN IMMEDIATE'); print('held', flush=True); sys.stdin.read()"
)


@pytest.mark.django_db(transaction=True)
class TestHeldByAnotherProcess:
    @pytest.fixture
    def holder(self, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], subprocess.Popen[bytes]]]:
        # What is logged keeps the error, and with it the cursor and the connection, until the test is reported.
        monkeypatch.setattr(tasks.log, "disabled", True)
        if connection.vendor != "sqlite":
            pytest.skip("SQLite has one writer")
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout = 200")  # instead of 30 s: what happens then is the same
        running: list[subprocess.Popen[bytes]] = []

        def hold() -> subprocess.Popen[bytes]:
            command = [sys.executable, "-c", HOLDS, str(connection.settings_dict["NAME"])]
            holder = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
            assert holder.stdout is not None
            assert holder.stdout.readline() == b"held\n"
            running.append(holder)
            return holder

        yield hold
        for process in running:
            process.kill()
            process.wait()
        gc.collect()  # so do errors that know each other
        connection.close()

    def test_it_is_tried_again(
        self, organisation: Organisation, probe: Callable[..., Job], holder: Callable[[], subprocess.Popen[bytes]]
    ) -> None:
        def locked_once(job: Job) -> Outcome:
            if job.attempts > 1:
                return DONE
            other = holder()
            try:
                job.beat()
            finally:
                other.kill()
                other.wait()
            return DONE

        job = probe(organisation, locked_once)
        run_job(job.pk)
        job.refresh_from_db()
        assert (job.state, job.code) == (Job.State.QUEUED, "tried-again")
        assert job.message == "The database was held by something else. It is tried again."
        Job.objects.update(due_at=None)
        run_job(job.pk)
        job.refresh_from_db()
        assert (job.state, job.attempts) == (Job.State.DONE, 2)

    def test_where_not_even_that_can_be_written_the_lease_runs_out(
        self, organisation: Organisation, probe: Callable[..., Job], holder: Callable[[], subprocess.Popen[bytes]]
    ) -> None:
        held: list[subprocess.Popen[bytes]] = []

        def locked(job: Job) -> Outcome:
            if not held:
                held.append(holder())
                job.beat()
            return DONE

        job = probe(organisation, locked)
        run_job(job.pk)  # the worker goes on living
        job.refresh_from_db()
        assert job.state == Job.State.RUNNING
        held[0].kill()
        held[0].wait()
        long_ago = timezone.now() - timedelta(hours=1)
        Job.objects.update(beat_at=long_ago, sent_at=long_ago)
        assert sweep() == {"returned": 1, "sent": 1}
        run_job(job.pk)
        job.refresh_from_db()
        assert (job.state, job.attempts) == (Job.State.DONE, 2)


class TestSkewedClock:
    """The clock of one host is 90 s ahead, and a lease lasts 60 s."""

    @pytest.fixture
    def ahead(self) -> Iterator[None]:
        real = timezone.now
        with patch("django.utils.timezone.now", lambda: real() + timedelta(seconds=90)):
            yield

    @pytest.mark.usefixtures("ahead")
    def test_a_host_that_is_ahead_takes_no_live_job(self, organisation: Organisation) -> None:
        job = Job.objects.create(kind="probe", subject_id=1, organisation=organisation)
        with connection.cursor() as cursor:  # taken by a host whose clock is right
            now = "statement_timestamp()" if connection.vendor == "postgresql" else "datetime('now')"
            claim = "11111111111141118111111111111111"
            cursor.execute(
                f"UPDATE {Job._meta.db_table} SET state = 'running', attempts = 1, claim = '{claim}', beat_at = {now} "
                f"WHERE id = {job.pk}"
            )
        assert sweep()["returned"] == 0
        job.refresh_from_db()
        assert (job.state, job.attempts) == (Job.State.RUNNING, 1)

    def test_nor_does_a_worker_that_is_ahead_hold_a_lease_for_longer(
        self, organisation: Organisation, settings: LazySettings, request: pytest.FixtureRequest
    ) -> None:
        job = Job.objects.create(kind="probe", subject_id=1, organisation=organisation)
        right = timezone.now()
        request.getfixturevalue("ahead")
        mine = Job.take(job.pk)
        assert mine is not None
        mine.beat(1)
        job.refresh_from_db()
        assert job.beat_at is not None
        assert abs(job.beat_at - right) < timedelta(seconds=10)
        mine.end(Job.State.DONE, "ok", "")
        job.refresh_from_db()
        assert job.ended_at is not None
        assert abs(job.ended_at - right) < timedelta(seconds=10)
