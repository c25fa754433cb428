"""Killing, losing, and what comes out all the same: a real worker in another process."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path
from unittest.mock import patch

import numpy as np
import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection

from campaigns.models import Campaign, Instrument, Job, User
from campaigns.tasks import run_job, sweep
from methods.quantities.moments import EPOCH, MS, stamp_ms
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import receive
from tests import factories as make
from tests.jobs.workers import LEASE_S, Stage, wait_until

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.slow,
    pytest.mark.timeout(300),
    pytest.mark.xdist_group("servers"),
]

FIRST = stamp_ms(make.START)
EVER = (-(2**62), 2**62)


@pytest.fixture
def stage(tmp_path: Path, settings: LazySettings, transactional_db: None) -> Iterator[Stage]:
    settings.MEDIA_ROOT = tmp_path / "media"
    settings.JOB_LEASE_SECONDS, settings.JOB_RESEND_SECONDS = LEASE_S, 1
    stage = Stage(tmp_path)
    with patch.object(run_job, "apply_async", stage.send):
        yield stage
    stage.stop()


@pytest.fixture
def campaign(transactional_db: None) -> Campaign:
    return make.CampaignFactory()


@pytest.fixture
def instrument(campaign: Campaign) -> Instrument:
    return make.InstrumentFactory(organisation=campaign.site.organisation)


def a_log(lines: int, seed: int = 0) -> tuple[bytes, np.ndarray, np.ndarray]:
    """A log of one reading a second, with the stamps and values that must come out."""
    stamps = FIRST + 1000 * np.arange(lines, dtype=np.int64)
    values = np.random.default_rng(seed).integers(0, 500, lines) / 1000
    text = ["time,formaldehyde [ppm]"]
    text += [f"{(EPOCH + int(s) * MS):%Y-%m-%d %H:%M:%S},{v:.3f}" for s, v in zip(stamps, values, strict=True)]
    return "\n".join(text).encode(), stamps, values


def hand_in(content: bytes, name: str, campaign: Campaign, instrument: Instrument) -> Upload:
    person: User = make.UserFactory()
    return receive(SimpleUploadedFile(name, content), campaign, instrument, person).upload


def ended() -> bool:
    return not Job.objects.filter(state__in=(Job.State.QUEUED, Job.State.RUNNING)).exists()


def test_a_killed_worker_leaves_whole_chunks_and_the_next_one_finishes(
    stage: Stage, campaign: Campaign, instrument: Instrument
) -> None:
    content, stamps, values = a_log(120_000)
    upload = hand_in(content, "long.csv", campaign, instrument)
    job = Job.objects.get(kind="read-upload", subject_id=upload.pk)
    channel = instrument.channels.get()
    worker = stage.worker()
    wait_until(lambda: Job.objects.filter(pk=job.pk, done__gt=0).exists(), every=0.001)
    os.kill(worker.pid, signal.SIGKILL)
    worker.wait(10)
    assert Job.objects.get(pk=job.pk).state == Job.State.RUNNING, "it was killed in the middle of the work"
    partial = len(rows(channel.pk, *EVER))
    assert 0 < partial < len(stamps)

    stage.worker()
    wait_until(lambda: sweep() == {"returned": 1, "sent": 1}, every=0.5)
    wait_until(ended)
    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.DONE, 2)
    found = rows(channel.pk, *EVER)
    assert np.array_equal(found["stamp"], stamps)
    assert np.array_equal(found["raw"], values)
    assert np.array_equal(found["line"], np.arange(2, len(stamps) + 2))
    upload.refresh_from_db()
    assert (upload.state, upload.stored, upload.held) == (Upload.State.READ, len(stamps), 0)


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no connection to lose")
def test_a_connection_that_is_lost_in_the_middle_leaves_the_log_whole_in_the_end(
    stage: Stage, campaign: Campaign, instrument: Instrument
) -> None:
    content, stamps, values = a_log(400_000)
    upload = hand_in(content, "long.csv", campaign, instrument)
    job = Job.objects.get(kind="read-upload", subject_id=upload.pk)
    channel = instrument.channels.get()
    worker = stage.worker()
    wait_until(lambda: Job.objects.filter(pk=job.pk, done__gt=0).exists(), every=0.001)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() "
            "AND pid <> pg_backend_pid()"
        )
        assert (True,) in cursor.fetchall()
    wait_until(lambda: Job.objects.filter(pk=job.pk, state=Job.State.QUEUED).exists(), every=0.01)
    job.refresh_from_db()
    upload.refresh_from_db()
    assert (job.code, job.attempts) == ("tried-again", 1)
    assert job.message == "The connection to the database was lost. It is tried again."
    partial = len(rows(channel.pk, *EVER))
    assert 0 < partial < len(stamps)
    assert upload.stored == partial, "what is shown is what is stored"

    wait_until(lambda: sweep()["sent"] == 1, every=0.2)
    wait_until(ended)
    job.refresh_from_db()
    assert (job.state, job.attempts) == (Job.State.DONE, 2)
    assert worker.poll() is None, "the same worker goes on"
    found = rows(channel.pk, *EVER)
    assert np.array_equal(found["stamp"], stamps)
    assert np.array_equal(found["raw"], values)
    upload.refresh_from_db()
    assert (upload.state, upload.stored, upload.held) == (Upload.State.READ, len(stamps), 0)


def test_losing_the_broker_loses_nothing(stage: Stage, campaign: Campaign, instrument: Instrument) -> None:
    logs = [a_log(50, seed) for seed in range(3)]
    other = [make.InstrumentFactory(organisation=campaign.site.organisation) for _ in logs]
    for n, ((content, _, _), meter) in enumerate(zip(logs, other, strict=True)):
        hand_in(content, f"{n}.csv", campaign, meter)
    assert stage.lose_messages() == 3

    stage.worker()
    wait_until(lambda: sweep() == {"returned": 0, "sent": 3}, every=0.5)
    wait_until(ended)
    assert set(Job.objects.values_list("state", flat=True)) == {Job.State.DONE}
    for (_, stamps, values), meter in zip(logs, other, strict=True):
        found = rows(meter.channels.get().pk, *EVER)
        assert np.array_equal(found["stamp"], stamps)
        assert np.array_equal(found["raw"], values)
