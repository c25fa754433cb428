"""The pages about background work. What the rows of Job do is tested with the jobs themselves."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client
from django.utils import timezone

from campaigns import job_subjects
from campaigns.enqueue import enqueue
from campaigns.models import Job, Organisation, User
from campaigns.services.workers import NO_WORKER, beat, note_unattended
from tests import factories as make
from tests.campaigns.pages import Browse, get, post, text


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def job(organisation: Organisation, state: str, subject: int = 1, **change: Any) -> Job:
    return Job.objects.create(organisation=organisation, kind="read-upload", subject_id=subject, state=state, **change)


def states(answer: Any) -> list[str]:
    return [row["job"]["state"] for row in answer.context["rows"]]


def test_newest_first_and_filtered(owner: Client, organisation: Organisation) -> None:
    for state in ("queued", "running", "done", "attention", "failed"):
        job(organisation, state)
    assert states(get(owner, "jobs")) == ["failed", "attention", "done", "running", "queued"]
    assert states(get(owner, "jobs", None, "?show=open")) == ["failed", "attention", "running", "queued"]
    assert states(get(owner, "jobs", None, "?show=ended")) == ["done"]
    assert len(states(get(owner, "jobs", None, "?show=nonsense"))) == 5


def test_nobody_is_there_to_do_it(owner: Client, organisation: Organisation, django_assert_num_queries: Any) -> None:
    for state in ("queued", "running", "done", "attention", "failed"):
        job(organisation, state, message="So far.")
    rows = get(owner, "jobs").context["rows"]
    said = {row["job"]["state"]: row["job"]["message"] for row in rows}
    assert said["queued"] == said["running"] == f"{NO_WORKER} So far."
    assert said["done"] == said["attention"] == said["failed"] == "So far."
    beat("worker@here 1")
    assert {row["job"]["message"] for row in get(owner, "jobs").context["rows"]} == {"So far."}
    ended = list(Job.objects.filter(state__in=Job.ENDED))
    with django_assert_num_queries(0):
        note_unattended(ended)


def test_what_was_seen_is_no_longer_open(owner: Client, organisation: Organisation) -> None:
    failed = job(organisation, "failed")
    assert "Mark as seen" in text(get(owner, "jobs"))
    post(owner, "job-acknowledge", failed)
    failed.refresh_from_db()
    assert failed.acknowledged_at is not None
    assert states(get(owner, "jobs", None, "?show=open")) == []
    assert states(get(owner, "jobs", None, "?show=ended")) == ["failed"]
    assert "Mark as seen" not in text(get(owner, "jobs"))


def test_a_row_asks_again_until_the_job_has_ended(owner: Client, organisation: Organisation) -> None:
    waiting = job(organisation, "queued")
    assert f'hx-get="/work/{waiting.key}/row/" hx-trigger="every 10s"' in text(get(owner, "job-row", waiting))
    Job.objects.filter(pk=waiting.pk).update(state="running", done=5, total=10, unit="bytes")
    row = text(get(owner, "job-row", waiting))
    assert 'hx-trigger="every 2s"' in row
    assert "5 of 10 bytes" in row
    Job.objects.filter(pk=waiting.pk).update(state="done", ended_at=timezone.now(), message="10 readings stored.")
    row = text(get(owner, "job-row", waiting))
    assert "hx-get" not in row
    assert "10 readings stored." in row


def test_a_row_asked_for_after_the_login_ended_loads_the_page_anew(browse: Browse, organisation: Organisation) -> None:
    waiting = job(organisation, "queued")
    answer = browse(None).get(f"/work/{waiting.key}/row/", headers={"HX-Request": "true"})
    assert answer.headers["HX-Refresh"] == "true"
    assert answer.content == b""


def test_the_subject_is_named_by_those_who_know_it(
    owner: Client, organisation: Organisation, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[list[int]] = []

    def find(ids: Iterable[int]) -> dict[int, job_subjects.Subject]:
        asked.append(sorted(ids))
        return {1: job_subjects.Subject("meter.csv", "/somewhere/")}

    monkeypatch.setitem(job_subjects._finders, "read-upload", find)
    job(organisation, "done", 1)
    job(organisation, "done", 2)
    page = text(get(owner, "jobs"))
    assert '<a href="/somewhere/">Read the log: meter.csv</a>' in page
    assert asked == [[1, 2]]


def test_work_of_others_is_not_shown(owner: Client, stranger: User) -> None:
    theirs = job(make.OrganisationFactory(), "failed")
    assert states(get(owner, "jobs")) == []
    assert post(owner, "job-acknowledge", theirs).status_code == 404
    theirs.refresh_from_db()
    assert theirs.acknowledged_at is None


def test_what_is_asked_for_again_is_decided(owner: Client, organisation: Organisation) -> None:
    asked, other = job(organisation, "attention", 1), job(organisation, "attention", 2)
    enqueue("read-upload", 1, organisation_id=organisation.pk, owner=None)
    asked.refresh_from_db()
    assert asked.acknowledged_at is not None
    assert states(get(owner, "jobs", None, "?show=open")) == ["queued", "attention"]
    other.refresh_from_db()
    assert other.acknowledged_at is None


def test_times_are_those_of_the_site(owner: Client, organisation: Organisation) -> None:
    site = make.SiteFactory.create(organisation=organisation, time_zone="Asia/Tokyo")
    campaign = make.CampaignFactory.create(site=site)
    asked = Job.objects.create(organisation=organisation, kind="evaluate", subject_id=campaign.pk, state="done")
    Job.objects.filter(pk=asked.pk).update(created_at=datetime(2026, 9, 15, 20, 30, tzinfo=UTC))
    page = text(get(owner, "jobs"))
    assert "asked for 2026-09-16 05:30" in page
    assert "UTC" not in page


@pytest.mark.parametrize(
    ("asked", "kept"),
    [("?show=open", "?show=open"), ("?show=open&page=1", "?show=open&page=1"), ("", ""), ("?show=x&page=//y", "")],
)
def test_marking_as_seen_leads_back_to_the_list(
    owner: Client, organisation: Organisation, asked: str, kept: str
) -> None:
    failed = job(organisation, "failed")
    (listed,) = get(owner, "jobs", None, asked).context["rows"]
    row = owner.get(
        f"/work/{failed.key}/row/",
        headers={"HX-Request": "true", "HX-Current-URL": f"http://testserver/work/{asked}"},
    )
    assert row.context["acknowledge_url"] == listed["acknowledge_url"]
    assert owner.post(listed["acknowledge_url"])["Location"] == f"/work/{kept}"
