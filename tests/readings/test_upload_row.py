"""The row of an upload, for the page that asks how far it is."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from campaigns.models import Campaign, Instrument, Job, User
from campaigns.services.workers import NO_WORKER, beat
from readings.models import Upload
from tests.readings.doing import a_log, hand_in, read
from tests.readings.pages import Browse, at, text


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    return hand_in(campaign, a_log([0.1, 0.2]), "row.csv", meter)


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def test_who_not(upload: Upload, browse: Browse, stranger: User, client_person: User) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(at("upload-row", upload)).status_code == 404
    assert browse(None).get(at("upload-row", upload)).status_code == 302


def test_it_is_a_row_and_no_page(upload: Upload, browser: Client) -> None:
    row = text(browser.get(at("upload-row", upload)))
    assert row.startswith('<li class="job queued"')
    assert row.endswith("</li>")


def test_it_asks_again_until_it_is_done(upload: Upload, browser: Client) -> None:
    asks = f'hx-get="{at("upload-row", upload)}"'
    waiting = text(browser.get(at("upload-row", upload)))
    assert asks in waiting
    assert 'hx-trigger="every 3s"' in waiting

    job = Job.take(Job.objects.get().pk)
    assert job is not None
    job.beat(upload.size // 2, upload.size, "bytes")
    running = text(browser.get(at("upload-row", upload)))
    assert asks in running
    assert 'hx-trigger="every 1s"' in running
    assert f'value="{upload.size // 2}" max="{upload.size}"' in running
    assert f"{100 * (upload.size // 2) // upload.size} %" in running

    Job.objects.update(state=Job.State.QUEUED)
    read(upload)
    done = text(browser.get(at("upload-row", upload)))
    assert "hx-get" not in done
    assert "2 readings stored." in done


def test_what_needs_attention_leads_to_the_page(campaign: Campaign, browser: Client) -> None:
    upload = hand_in(campaign, a_log([0.1], serial="FL-9999"), "whose.csv")
    read(upload)
    row = text(browser.get(at("upload-row", upload)))
    assert f'<a class="button" href="{at("upload", upload)}">Decide' in row


def test_the_latest_job_counts(upload: Upload, browser: Client) -> None:
    read(upload)
    browser.post(at("upload-decide", upload))
    assert "job queued" in text(browser.get(at("upload-row", upload)))


def test_one_that_was_withdrawn_says_so(upload: Upload, browser: Client) -> None:
    read(upload)
    Upload.objects.update(state=Upload.State.WITHDRAWN)
    row = text(browser.get(at("upload-row", upload)))
    assert row.startswith('<li class="job withdrawn"')
    assert '<span class="glyph" aria-hidden="true">–</span> withdrawn</span>' in row
    assert "done" not in row


def test_nobody_is_there_to_read_it(upload: Upload, browser: Client) -> None:
    for name in ("upload-row", "upload"):
        assert NO_WORKER in text(browser.get(at(name, upload)))
    beat("worker@here 1")
    for name in ("upload-row", "upload"):
        assert NO_WORKER not in text(browser.get(at(name, upload)))


def test_a_list_of_many_asks_once_whether_anybody_is_there(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as asked:
            assert NO_WORKER in text(browser.get(at("uploads", campaign)))
        return sum("campaigns_worker" in query["sql"] for query in asked.captured_queries)

    for value in range(3):
        hand_in(campaign, a_log([value]), f"{value}.csv", meter)
    assert queries() == 1
