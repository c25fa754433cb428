"""Short ways to hand in a log and have it read, as a person and a worker would."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile

from campaigns.models import Campaign, Channel, Instrument, Job, User
from campaigns.tasks import run_job
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import receive
from tests import factories as make

Read = tuple[Upload, Job]

EVER = (-(2**62), 2**62)
HEAD = "time,formaldehyde [ppm]"
COLUMN = "formaldehyde [ppm]"
TEN = [f"0.0{k + 10}" for k in range(10)]
WALL = datetime(2026, 9, 15, 9, 0)  # noqa: DTZ001 - on the logger's own clock; 08:00 UTC in Lisbon
STAMP = "%Y-%m-%d %H:%M:%S"


def a_log(
    values: Iterable[Any],
    *,
    start: datetime = WALL,
    every_s: float = 10,
    serial: str = "",
    head: str = HEAD,
    form: str = STAMP,
) -> str:
    """A comma-separated log of one column of ``values``, printed as they are given."""
    lines = [f"# serial number {serial}"] if serial else []
    lines.append(head)
    lines += [f"{start + k * timedelta(seconds=every_s):{form}},{value}" for k, value in enumerate(values)]
    return "\n".join(lines) + "\n"


def cells(values: list[str]) -> str:
    """A log with these cells, a minute apart; the first is in line 2."""
    return a_log(values, every_s=60)


def hand_in(
    campaign: Campaign,
    content: bytes | str,
    name: str = "log.csv",
    instrument: Instrument | None = None,
    by: User | None = None,
) -> Upload:
    """Receive a file that was not held before."""
    data = content.encode() if isinstance(content, str) else content
    receipt = receive(SimpleUploadedFile(name, data), campaign, instrument, by or make.UserFactory.create())
    assert not receipt.already_held
    return receipt.upload


def read(upload: Upload) -> Job:
    """Do the job that waits for ``upload``, here and now; both are fresh afterwards."""
    job = Job.objects.get(kind="read-upload", subject_id=upload.pk, state=Job.State.QUEUED)
    run_job(job.pk)
    job.refresh_from_db()
    upload.refresh_from_db()
    return job


def stored(channel: Channel) -> list[float]:
    """The values of all readings of ``channel``, by stamp."""
    values: list[float] = rows(channel.pk, *EVER)["raw"].tolist()
    return values


def told(upload: Upload) -> list[tuple[int, str, str, str]]:
    """(line, column, value, code) of each problem, in the order of the page."""
    return [(p.line, p.column, p.value, p.code) for p in upload.problems.all()]


def sha256(content: bytes | str) -> str:
    return hashlib.sha256(content.encode() if isinstance(content, str) else content).hexdigest()
