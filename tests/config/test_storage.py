"""Originals in object storage: handed in, read by a job, fetched again, against a server that speaks S3's protocol."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import boto3  # type: ignore[import-untyped]
import pytest
from django.conf import LazySettings
from django.test import Client

from campaigns.models import Campaign, Instrument, Job, Site, User
from config import readiness
from readings.models import Upload
from readings.queries import rows
from readings.services.originals import local_copy
from tests import factories as make
from tests.config.starting import settings_with
from tests.readings.doing import a_log, hand_in, read, sha256
from tests.readings.pages import Browse, at, send

pytestmark = pytest.mark.django_db

LOG = a_log([0.031, 0.032, 0.033])


@pytest.fixture(scope="module")
def server() -> Iterator[str]:
    """Its address; a port that is free."""
    from moto.server import ThreadedMotoServer

    moto = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    moto.start()
    host, port = moto.get_host_and_port()
    yield f"http://{host}:{port}"
    moto.stop()


@pytest.fixture
def bucket(server: str, settings: LazySettings, tmp_path: Path) -> Any:
    """An empty bucket, and the settings that .env.example's variables make of it."""
    name = f"originals-{tmp_path.name.lower().replace('_', '-')}"[:60].rstrip("-")
    keys = {"S3_ACCESS_KEY": "key", "S3_SECRET_KEY": "secret", "S3_REGION": "eu-west-1"}
    made = settings_with(tmp_path, S3_BUCKET=name, S3_ENDPOINT=server, **keys)
    settings.STORAGES = made["STORAGES"]
    store = boto3.resource(
        "s3", endpoint_url=server, aws_access_key_id="key", aws_secret_access_key="secret", region_name="eu-west-1"
    )
    return store.create_bucket(Bucket=name, CreateBucketConfiguration={"LocationConstraint": "eu-west-1"})


def test_readiness_keeps_something_there_and_takes_it_away_again(
    client: Client, bucket: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(readiness, "WAIT_S", 60)  # the server of this test is not what is measured
    readiness.STORAGE.forget()
    assert client.get("/ready/?of=storage").json() == {"storage": "there"}
    assert list(bucket.objects.all()) == []
    bucket.delete()
    readiness.STORAGE.forget()
    answer = client.get("/ready/?of=storage")
    assert (answer.status_code, answer.json()) == (503, {"storage": "away"})
    readiness.STORAGE.forget()


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory.create(site=site)


@pytest.fixture
def meter(site: Site) -> Instrument:
    return make.InstrumentFactory.create(organisation=site.organisation)


def test_handed_in_read_and_fetched(
    bucket: Any, campaign: Campaign, meter: Instrument, browse: Browse, consultant: User, tmp_path: Path
) -> None:
    browser: Client = browse(consultant)
    assert send(browser, campaign, ("week 38.csv", LOG), script=True, instrument=meter.pk).status_code == 201
    upload = Upload.objects.get()
    (stored,) = bucket.objects.all()
    assert stored.key == upload.original.name
    assert stored.get()["Body"].read() == LOG.encode()
    assert not list((tmp_path / "media").rglob("*")), "nothing lies beside it"

    assert read(upload).state == Job.State.DONE
    assert rows(meter.channels.get().pk, -(2**62), 2**62)["raw"].tolist() == [0.031, 0.032, 0.033]

    answer = browser.get(at("upload-original", upload))
    assert b"".join(answer.streaming_content) == LOG.encode()  # type: ignore[attr-defined]
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"] == 'attachment; filename="week 38.csv"'
    assert browser.get(at("upload-line", upload, 3)).status_code == 200


def test_the_same_file_again_is_one_object(bucket: Any, campaign: Campaign, browse: Browse, consultant: User) -> None:
    browser = browse(consultant)
    assert send(browser, campaign, ("a.csv", LOG), script=True).status_code == 201
    assert send(browser, campaign, ("b.csv", LOG), script=True).status_code == 409
    assert len(list(bucket.objects.all())) == 1


def test_the_copy_to_read_from_is_gone_afterwards(bucket: Any, campaign: Campaign) -> None:
    upload = hand_in(campaign, LOG)
    with local_copy(upload) as path:
        assert sha256(path.read_text()) == upload.sha256
        assert path.is_relative_to(tempfile.gettempdir())
    assert not path.exists()
    assert not path.parent.exists()


def test_one_object_for_each_campaign(bucket: Any, campaign: Campaign) -> None:
    """The key holds the checksum and the upload: two campaigns never share, so neither tells of the other."""
    other = make.CampaignFactory.create(site=campaign.site)
    names = {hand_in(c, LOG).original.name for c in (campaign, other)}
    assert {o.key for o in bucket.objects.all()} == names
    assert len(names) == 2


def test_a_store_that_is_away_is_an_error_and_no_half_upload(
    bucket: Any, campaign: Campaign, browse: Browse, consultant: User
) -> None:
    """Bytes first, then the row: without the bytes there is no row."""
    browser = browse(consultant)
    browser.raise_request_exception = False
    bucket.delete()
    assert send(browser, campaign, ("a.csv", LOG), script=True).status_code == 500
    assert not Upload.objects.exists()
    assert not Job.objects.exists()


def test_an_object_that_is_gone_fails_the_job_and_not_the_page(
    bucket: Any, campaign: Campaign, meter: Instrument, browse: Browse, consultant: User
) -> None:
    upload = hand_in(campaign, LOG, instrument=meter)
    for stored in bucket.objects.all():
        stored.delete()
    job = read(upload)
    assert (job.state, job.code) == (Job.State.FAILED, "original-missing")
    assert "is not where it was stored" in job.message
    page = browse(consultant).get(at("upload", upload))
    assert page.status_code == 200
    assert "is not where it was stored" in page.content.decode()
    assert browse(consultant).get(at("upload-original", upload)).status_code == 404
