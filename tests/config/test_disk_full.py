"""A disk that is full: nothing half written stays, people are told, and health has said so before."""

from __future__ import annotations

import errno
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.files.uploadhandler import TemporaryFileUploadHandler
from django.test import Client
from django.urls import reverse

from campaigns.free_space import Space, space
from campaigns.models import Campaign, Job, Role
from config.storage import WholeFiles
from readings.models import Upload
from readings.services.receive import NotNow, receive
from tests import factories as make
from tests.worlds import member

MEGABYTE = 1 << 20
JSON = {"accept": "application/json"}


def full(*_: Any) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def files_in(folder: Path) -> list[Path]:
    return [path for path in folder.rglob("*") if path.is_file()]


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of two megabytes."""
    folder = tmp_path / "small"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=2m", "tmpfs", str(folder)]
    if os.name != "posix" or os.geteuid() != 0 or subprocess.run(mount, check=False, capture_output=True).returncode:
        pytest.skip("only root mounts a small disk")
    yield folder
    subprocess.run(["umount", "--lazy", str(folder)], check=False)


@pytest.fixture
def campaign(db: None, settings: LazySettings, tmp_path: Path) -> Campaign:
    settings.MEDIA_ROOT = tmp_path / "media"
    found: Campaign = make.CampaignFactory.create()
    return found


@pytest.fixture
def browser(campaign: Campaign) -> Client:
    browser = Client()
    browser.force_login(member(campaign.site.organisation, Role.CONSULTANT, "full@fanlight.example"))
    return browser


class TestWholeFiles:
    def test_what_is_kept_is_kept_whole(self, tmp_path: Path) -> None:
        kept = WholeFiles(location=tmp_path)
        name = kept.save("a/b", ContentFile(b"one"))
        other = kept.save("a/b", ContentFile(b"two"))
        assert (name, kept.open(name).read()) == ("a/b", b"one")
        assert other != name
        assert kept.open(other).read() == b"two"
        assert len(files_in(tmp_path)) == 2

    def test_somebody_is_faster_under_the_name(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        kept, real = WholeFiles(location=tmp_path), os.fsync

        def meanwhile(handle: int) -> None:
            real(handle)
            (tmp_path / "b").write_bytes(b"theirs")
            monkeypatch.setattr(os, "fsync", real)

        monkeypatch.setattr(os, "fsync", meanwhile)
        name = kept.save("b", ContentFile(b"ours"))
        assert name != "b"
        assert (tmp_path / "b").read_bytes() == b"theirs"
        assert kept.open(name).read() == b"ours"

    def test_where_files_cannot_be_linked_they_are_moved(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        def cannot(*_: Any) -> None:
            raise OSError(errno.EPERM, "Operation not permitted")

        monkeypatch.setattr(os, "link", cannot)
        kept = WholeFiles(location=tmp_path)
        assert kept.open(kept.save("b", ContentFile(b"one"))).read() == b"one"
        assert kept.save("b", ContentFile(b"two")) != "b"
        assert len(files_in(tmp_path)) == 2

    def test_a_small_disk_keeps_nothing_of_what_does_not_fit(self, small_disk: Path) -> None:
        kept = WholeFiles(location=small_disk)
        with pytest.raises(OSError, match="No space left") as caught:
            kept.save("a/b", ContentFile(b"x" * 3 * MEGABYTE))
        assert caught.value.errno == errno.ENOSPC
        assert files_in(small_disk) == []
        assert kept.save("a/b", ContentFile(b"x" * MEGABYTE)) == "a/b"


class TestHandingIn:
    @pytest.fixture
    def log(self) -> SimpleUploadedFile:
        return SimpleUploadedFile("long.csv", b"time,CO2 [ppm]\n" + b"2026-09-15 09:00:00,420\n" * 200_000)

    def test_on_a_small_disk(
        self, campaign: Campaign, log: SimpleUploadedFile, small_disk: Path, settings: LazySettings
    ) -> None:
        settings.MEDIA_ROOT, settings.KEEP_FREE_BYTES = small_disk, 0
        with pytest.raises(NotNow, match="There is no space left for “long") as caught:
            receive(log, campaign, None, make.UserFactory.create())
        assert caught.value.passing
        assert files_in(small_disk) == []
        assert not Upload.objects.exists()
        assert not Job.objects.exists()

    def test_it_fills_up_while_the_file_is_written(
        self, campaign: Campaign, browser: Client, log: SimpleUploadedFile, monkeypatch: pytest.MonkeyPatch,
        tmp_path: Path,
    ) -> None:  # fmt: skip
        monkeypatch.setattr(os, "fsync", full)
        answer = browser.post(reverse("uploads", args=[campaign.key]), {"file": log}, headers=JSON)
        assert answer.status_code == 503  # a script offers to try again
        assert answer.json()["message"].startswith("There is no space left for “long.csv”")
        assert files_in(tmp_path / "media") == []
        assert not Upload.objects.exists()

    def test_it_fills_up_on_the_way_in(
        self, campaign: Campaign, browser: Client, log: SimpleUploadedFile, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(TemporaryFileUploadHandler, "receive_data_chunk", full)
        answer = browser.post(reverse("uploads", args=[campaign.key]), {"file": log}, headers=JSON)
        assert (answer.status_code, answer.json()["message"]) == (
            503, "There is no space left for a file that came: nothing of it was kept. Tell the operator.",
        )  # fmt: skip
        log.seek(0)
        page = browser.post(reverse("uploads", args=[campaign.key]), {"file": log}, follow=True)
        assert "There is no space left for a file that came" in page.content.decode()

    def test_what_is_kept_free_for_the_database_stays_free(
        self, campaign: Campaign, log: SimpleUploadedFile, settings: LazySettings
    ) -> None:
        settings.KEEP_FREE_BYTES = 1 << 60
        with pytest.raises(NotNow, match="no space left"):
            receive(log, campaign, None, make.UserFactory.create())

    def test_another_storage_that_is_away_is_said(
        self, campaign: Campaign, log: SimpleUploadedFile, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def away(*_: Any) -> None:
            raise ConnectionResetError

        monkeypatch.setattr(os, "fsync", away)
        with pytest.raises(NotNow, match="The place where files are kept did not answer"):
            receive(log, campaign, None, make.UserFactory.create())


class TestHealth:
    def test_it_says_so_before(self, client: Client, db: None, settings: LazySettings) -> None:
        settings.LOW_SPACE_BYTES = 1 << 60
        answer = client.get("/ready/?of=space")
        assert (answer.status_code, answer.json()) == (200, {"space": "low"})
        settings.KEEP_FREE_BYTES = 1 << 59
        answer = client.get("/ready/?of=space")
        assert (answer.status_code, answer.json()) == (503, {"space": "full"})

    def test_the_fullest_place_counts(self, small_disk: Path, settings: LazySettings) -> None:
        settings.LOW_SPACE_BYTES, settings.KEEP_FREE_BYTES = 4 * MEGABYTE, 0
        assert space() is Space.ENOUGH
        settings.MEDIA_ROOT = small_disk
        assert space() is Space.LOW
