"""What is counted, for whom, and that labels hold nothing that grows with use.

The text is parsed by Prometheus's own client library, which reads what it writes the way the server does.
"""

from __future__ import annotations

from datetime import timedelta
from unittest.mock import patch

import pytest
from django.conf import LazySettings
from django.db import OperationalError
from django.db.models.functions import Now
from django.test import Client, override_settings
from prometheus_client.parser import text_string_to_metric_families

from campaigns.models import Job, Organisation, Site, User
from campaigns.services import work_load, workers
from config.server.streams import PLACES
from config.version import VERSION
from readings.models import Upload
from tests import factories as make
from tests.readings.doing import a_log, hand_in

pytestmark = pytest.mark.django_db

TOKEN = "a-token-of-24-characters"
Samples = dict[tuple[str, frozenset[tuple[str, str]]], float]


@pytest.fixture(autouse=True)
def _with_token(settings: LazySettings) -> None:
    settings.METRICS_TOKEN = TOKEN


def scraped(client: Client) -> Samples:
    answer = client.get("/metrics/", headers={"Authorization": f"Bearer {TOKEN}"})
    assert answer.status_code == 200
    assert answer["Content-Type"].startswith("text/plain; version=0.0.4")
    families = text_string_to_metric_families(answer.content.decode())
    return {(one.name, frozenset(one.labels.items())): one.value for family in families for one in family.samples}


def value(samples: Samples, name: str, **labels: str) -> float:
    return samples.get((name, frozenset(labels.items())), 0.0)


class TestWhoMayRead:
    @pytest.mark.parametrize("shown", ["", f"Bearer {TOKEN}x", "Bearer ", f"Basic {TOKEN}", TOKEN, "Bearer é"])
    def test_for_everybody_else_there_is_nothing(self, client: Client, shown: str) -> None:
        answer = client.get("/metrics/", headers={"Authorization": shown} if shown else {})
        assert answer.status_code == 404
        assert b"fanlight_requests" not in answer.content

    def test_nobody_may_where_it_is_not_set(self, client: Client, settings: LazySettings) -> None:
        settings.METRICS_TOKEN = ""
        for shown in ("Bearer ", "Bearer", "Bearer  "):
            assert client.get("/metrics/", headers={"Authorization": shown}).status_code == 404

    def test_no_login_does(self, browse: object, consultant: User) -> None:
        assert browse(consultant).get("/metrics/").status_code == 404  # type: ignore[operator]

    def test_it_is_asked_by_address(self, client: Client) -> None:
        headers = {"host": "10.0.0.7:8000", "Authorization": f"Bearer {TOKEN}"}
        with override_settings(ALLOWED_HOSTS=["air.example"]):
            assert client.get("/metrics/", headers=headers).status_code == 200


class TestRequests:
    def test_they_are_counted_by_route(self, client: Client) -> None:
        labels = {"route": "login", "method": "GET", "status": "200"}
        before = scraped(client)
        client.get("/login/?next=/sites/")
        after = scraped(client)
        assert value(after, "fanlight_requests_total", **labels) == 1 + value(
            before, "fanlight_requests_total", **labels
        )
        name = "fanlight_request_seconds_count"
        assert value(after, name, route="login") == 1 + value(before, name, route="login")

    def test_no_path_and_no_key_becomes_a_label(self, browse: object, consultant: User, site: Site) -> None:
        browser: Client = browse(consultant)  # type: ignore[operator]
        browser.get(f"/sites/{site.key}/")
        browser.get("/sites/no-such-thing-at-all/")
        browser.generic("MADEUP", "/login/")
        labels = [dict(labels) for _, labels in scraped(browser)]
        text = repr(labels)
        assert "'route': 'site'" in text
        assert "'route': 'none'" in text
        assert "'method': 'other'" in text
        for grows in (str(site.key), site.name, site.organisation.name, "no-such-thing", "MADEUP"):
            assert grows not in text

    def test_views_that_fail(self, client: Client) -> None:
        client.raise_request_exception = False
        before = scraped(client)
        with patch("campaigns.views.account.Login.get", side_effect=ArithmeticError("the-detail")):
            assert client.get("/login/").status_code == 500
        after = scraped(client)
        name = "fanlight_exceptions_total"
        assert value(after, name, kind="ArithmeticError") == 1 + value(before, name, kind="ArithmeticError")
        labels = {"route": "login", "method": "GET", "status": "500"}
        assert value(after, "fanlight_requests_total", **labels) >= 1
        assert "the-detail" not in repr(after)


class TestWork:
    def test_jobs_by_kind_and_state(self, client: Client, organisation: Organisation) -> None:
        states = (Job.State.QUEUED, Job.State.FAILED, Job.State.FAILED)
        for number, state in enumerate(states):
            Job.objects.create(
                kind="read-upload", subject_id=number, organisation=organisation, state=state,
                code="internal-error" if state == Job.State.FAILED else "",
            )  # fmt: skip
        Job.objects.filter(state=Job.State.QUEUED).update(created_at=Now() - timedelta(seconds=90))
        samples = scraped(client)
        assert value(samples, "fanlight_jobs", kind="read-upload", state="queued") == 1
        assert value(samples, "fanlight_jobs", kind="read-upload", state="failed") == 2
        assert value(samples, "fanlight_jobs_failed_unseen", code="internal-error") == 2
        assert 90 <= value(samples, "fanlight_oldest_waiting_seconds") < 150

    def test_workers(self, client: Client) -> None:
        assert ("fanlight_worker_beat_age_seconds", frozenset()) not in scraped(client), "there never was one"
        workers.beat("worker@here 1")
        samples = scraped(client)
        assert value(samples, "fanlight_workers") == 1
        assert 0 <= value(samples, "fanlight_worker_beat_age_seconds") < 30

    def test_rows_read(self, client: Client) -> None:
        campaign = make.CampaignFactory.create()
        for lines, stored in ((7, 21), (3, 4)):
            upload = hand_in(campaign, a_log([0.1] * lines))
            Upload.objects.filter(pk=upload.pk).update(lines=lines, stored=stored)
        samples = scraped(client)
        assert value(samples, "fanlight_rows_read") == 10
        assert value(samples, "fanlight_readings_stored") == 25

    def test_streams(self, client: Client) -> None:
        assert PLACES.take("somebody")
        try:
            assert value(scraped(client), "fanlight_streams_running") == 1
        finally:
            PLACES.give_back("somebody")
        assert value(scraped(client), "fanlight_streams_running") == 0
        assert value(scraped(client), "fanlight_streams_places") == PLACES.at_once

    def test_this_process(self, client: Client) -> None:
        samples = scraped(client)
        assert not any(name.endswith("_created") for name, _ in samples)
        assert value(samples, "fanlight_info", version=VERSION) == 1
        assert value(samples, "fanlight_free_bytes") > 0
        assert value(samples, "fanlight_database_up") == 1

    def test_the_database_is_away(self, client: Client) -> None:
        with patch.object(work_load, "jobs_by_kind", side_effect=OperationalError("db.example")):
            samples = scraped(client)
        assert value(samples, "fanlight_database_up") == 0
        assert ("fanlight_free_bytes", frozenset()) in samples, "the rest is still told"
        assert not any(name == "fanlight_jobs" for name, _ in samples)
