"""A log that was not read to its end: said wherever somebody would look, and completed at the press of a button."""

from __future__ import annotations

import errno
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, Channel, Instrument, Job, Role
from campaigns.tasks import run_job
from readings import store
from readings.models import Upload
from readings.queries.unfinished import unfinished
from readings.services import reading
from reports.services.missing import UNFINISHED, lacks
from reports.services.readiness import prepare
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read
from tests.readings.doing import stored as raw
from tests.worlds import member

VALUES = [k / 1000 for k in range(1, 1001)]
LOG = a_log(VALUES)


@pytest.fixture
def person(campaign: Campaign) -> Client:
    return logged_in(campaign, Role.CONSULTANT)


def logged_in(campaign: Campaign, role: Role) -> Client:
    browser = Client()
    browser.force_login(member(campaign.site.organisation, role, f"{role}-{campaign.pk}@fanlight.example"))
    return browser


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument, monkeypatch: pytest.MonkeyPatch, settings: LazySettings) -> Upload:
    """Read once, with the disk full after 300 of its 1000 readings."""
    settings.JOB_MAX_ATTEMPTS = 1
    monkeypatch.setattr(reading, "CHUNK_ROWS", 100)
    chunks: list[Any] = []
    real: Any = store.write

    def write(*args: Any) -> Any:
        chunks.append(args)
        if len(chunks) == 4:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*args)

    monkeypatch.setattr(reading, "write", write)
    upload = hand_in(campaign, LOG, "long.csv", meter)
    job = read(upload)
    assert (job.state, job.code) == (Job.State.FAILED, "given-up")
    return upload


def test_the_pages_say_what_is_stored(upload: Upload, channel: Channel, person: Client) -> None:
    assert raw(channel) == VALUES[:300]
    page = person.get(reverse("upload", args=[upload.key])).content.decode()
    assert "Not read to its end" in page
    assert "There is no space left to store anything" in page
    assert "300 readings of it are stored" in page
    assert (upload.stored, upload.lines) == (300, 300)
    assert "Read it again" in page
    assert "Read it again" in person.get(reverse("jobs")).content.decode()


def test_it_is_missing_and_stands_in_the_way_of_a_release(upload: Upload, campaign: Campaign) -> None:
    lack = lacks(campaign)[0]
    assert (lack.what, lack.names, lack.url) == (UNFINISHED, ["long.csv"], reverse("upload", args=[upload.key]))
    blocking = {item.code: item for item in prepare(campaign).blocking}
    assert blocking["not-read"].names == ("long.csv",)
    assert all(not item.words.startswith(UNFINISHED) for item in prepare(campaign).advisory)


@pytest.mark.parametrize("role", [Role.CONSULTANT, Role.FIELD])
def test_reading_it_again_completes_it_exactly_once(
    upload: Upload, campaign: Campaign, channel: Channel, role: Role
) -> None:
    browser = logged_in(campaign, role)
    failed = Job.objects.get(kind="read-upload")
    again = reverse("job-again", args=[failed.key])
    assert again in browser.get(reverse("upload", args=[upload.key])).content.decode()
    answer = browser.post(f"{again}?from=subject")
    assert answer["Location"] == reverse("upload", args=[upload.key])
    assert unfinished(campaign) == [], "it is under way"
    browser.post(again)  # pressed twice: the same work waits once
    job = read(upload)
    assert (job.state, upload.state) == (Job.State.DONE, Upload.State.READ)
    assert (upload.stored, upload.held) == (1000, 0)
    assert raw(channel) == VALUES
    assert unfinished(campaign) == []
    assert again not in browser.get(reverse("upload", args=[upload.key])).content.decode()
    assert again not in browser.get(reverse("jobs")).content.decode()


def test_who_may_not_sees_no_button(upload: Upload, campaign: Campaign) -> None:
    failed = Job.objects.get(kind="read-upload")
    stranger = logged_in(make.CampaignFactory.create(), Role.CONSULTANT)
    assert stranger.post(reverse("job-again", args=[failed.key])).status_code == 404
    assert Job.objects.filter(kind="read-upload").count() == 1


def test_the_same_file_again_says_that_it_was_not_read(upload: Upload, campaign: Campaign, person: Client) -> None:
    sent = {"file": SimpleUploadedFile("again.csv", LOG.encode())}
    answer = person.post(reverse("uploads", args=[campaign.key]), sent, headers={"accept": "application/json"})
    assert answer.status_code == 409
    said = answer.json()
    assert "But it was not read to its end: open it, and have it read again." in said["message"]
    assert (said["url"], said["unread"]) == (reverse("upload", args=[upload.key]), "yes")


def test_asking_for_what_is_done_is_said(upload: Upload, campaign: Campaign, person: Client) -> None:
    job = Job.objects.get(kind="read-upload")
    Job.objects.filter(pk=job.pk).update(state=Job.State.DONE, code="read")
    answer = person.post(reverse("job-again", args=[job.key]), follow=True)
    assert "It is done, or under way, already." in answer.content.decode()
    assert Job.objects.filter(kind="read-upload").count() == 1


def test_a_file_that_cannot_be_read_is_no_failure_of_ours(campaign: Campaign, meter: Instrument) -> None:
    broken = hand_in(campaign, "not a log at all", "letter.txt", meter)
    run_job(Job.objects.get(subject_id=broken.pk, kind="read-upload").pk)
    assert unfinished(campaign) == []
    assert Job.objects.get(kind="read-upload").state == Job.State.FAILED
