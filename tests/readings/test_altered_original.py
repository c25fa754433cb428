"""An original whose bytes are not those that were handed in is not served as if they were."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest.mock import Mock, patch

import pytest
from django.test import Client

from campaigns.models import Campaign, Job, User
from campaigns.views import pages
from readings.models import Upload
from readings.services import originals
from tests.readings.doing import hand_in
from tests.readings.pages import Browse, at

LOG = b"time,ppm\n2026-09-15 09:00:00,0.012\n2026-09-15 09:01:00,0.013\n"


@pytest.fixture
def logged() -> Iterator[Mock]:
    """What is told to the operator."""
    with patch.object(pages, "log") as log:
        yield log


def said_in(logged: Mock) -> str:
    return " ".join(str(call) for call in logged.error.call_args_list)


@pytest.fixture
def browser(browse: Browse, field_staff: User) -> Client:
    return browse(field_staff)


@pytest.fixture
def upload(campaign: Campaign) -> Upload:
    return hand_in(campaign, LOG)


def alter(upload: Upload, *, unnoticed: bool = False) -> None:
    """One byte flipped on the disk; ``unnoticed``: with the file's old times."""
    path = Path(upload.original.path)
    before = path.stat()
    data = bytearray(path.read_bytes())
    data[-3] ^= 1
    path.chmod(0o600)
    path.write_bytes(data)
    if unnoticed:
        os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))


def test_the_file_as_it_came_is_served(upload: Upload, browser: Client) -> None:
    answer: Any = browser.get(at("upload-original", upload))
    assert (answer.status_code, b"".join(answer.streaming_content)) == (200, LOG)


@pytest.mark.parametrize("unnoticed", [False, True])
def test_a_flipped_byte_is_an_error_that_is_said_and_logged(
    upload: Upload, browser: Client, logged: Mock, unnoticed: bool
) -> None:
    assert browser.get(at("upload-original", upload)).status_code == 200
    alter(upload, unnoticed=unnoticed)
    answer = browser.get(at("upload-original", upload))
    assert answer.status_code == 500
    told = answer.content.decode()
    assert "not the ones that were handed in" in told
    assert "0.012" not in told
    assert upload.sha256 in said_in(logged)


def test_its_lines_are_not_shown_as_those_of_the_file(upload: Upload, browser: Client) -> None:
    assert browser.get(f"{at('upload', upload)}lines/2/").status_code == 200
    alter(upload)
    answer = browser.get(f"{at('upload', upload)}lines/2/")
    assert answer.status_code == 500
    assert "not the ones that were handed in" in answer.content.decode()
    page = browser.get(at("upload", upload))
    assert page.status_code == 200
    assert "0.012" not in page.content.decode()


def test_nothing_is_read_from_it(campaign: Campaign) -> None:
    upload = hand_in(campaign, LOG)
    alter(upload)
    with pytest.raises(originals.OriginalAltered, match="SHA-256"), originals.local_copy(upload):
        pytest.fail("it was handed out")
    assert issubclass(originals.OriginalAltered, originals.OriginalMissing), "a job says so and stops"
    assert Job.objects.filter(subject_id=upload.pk).exists()
