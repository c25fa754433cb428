"""The jobs of collecting."""

from __future__ import annotations

from campaigns.enqueue import Outcome, handles
from campaigns.models import Job
from readings.services.reading import read_upload

READ_UPLOAD = "read-upload"


@handles(READ_UPLOAD, "Read the log")
def read(job: Job) -> Outcome:
    return read_upload(job)
