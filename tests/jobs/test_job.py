from __future__ import annotations

from datetime import timedelta
from unittest.mock import patch

import pytest
from django.conf import LazySettings
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from campaigns import enqueue as dispatcher
from campaigns.enqueue import enqueue, handles
from campaigns.models import Job, LostLease, Organisation, User
from campaigns.models.jobs import OVERTAKEN
from campaigns.tasks import run_job, sweep


@pytest.fixture
def job(organisation: Organisation) -> Job:
    return Job.objects.create(kind="test", subject_id=7, organisation=organisation)


@pytest.fixture
def _no_handlers_left_behind() -> object:
    before = dict(dispatcher._handlers)
    yield
    dispatcher._handlers.clear()
    dispatcher._handlers.update(before)


def test_a_job_is_taken_once(job: Job) -> None:
    first, second = Job.take(job.pk), Job.take(job.pk)
    assert first is not None
    assert second is None
    assert first.attempts == 1


def test_a_beat_says_how_far(job: Job) -> None:
    mine = Job.take(job.pk)
    assert mine is not None
    mine.beat(3, 10, "bytes")
    job.refresh_from_db()
    assert (job.done, job.total, job.unit) == (3, 10, "bytes")


def test_who_lost_the_lease_stops(job: Job, settings: LazySettings) -> None:
    slow = Job.take(job.pk)
    assert slow is not None
    Job.objects.update(beat_at=timezone.now() - timedelta(seconds=settings.JOB_LEASE_SECONDS + 1))
    assert Job.give_back() == 1
    quick = Job.take(job.pk)
    assert quick is not None
    with pytest.raises(LostLease):
        slow.beat(5)
    with pytest.raises(LostLease):
        slow.end(Job.State.DONE, "", "")
    quick.end(Job.State.DONE, "ok", "fine")
    job.refresh_from_db()
    assert job.state == Job.State.DONE


def test_a_job_that_beats_is_left_alone(job: Job) -> None:
    Job.take(job.pk)
    assert Job.give_back() == 0


def test_a_run_whose_work_waits_again_is_superseded_and_has_not_failed(
    job: Job, settings: LazySettings, client: Client, consultant: User
) -> None:
    Job.take(job.pk)
    Job.objects.create(kind=job.kind, subject_id=job.subject_id, organisation=job.organisation)
    Job.objects.filter(pk=job.pk).update(beat_at=timezone.now() - timedelta(seconds=settings.JOB_LEASE_SECONDS + 1))
    Job.give_back()
    job.refresh_from_db()
    assert (job.state, job.code, job.message) == (Job.State.SUPERSEDED, "superseded", OVERTAKEN)
    client.force_login(consultant)
    page = client.get(reverse("job-row", args=[job.key])).content.decode()
    assert "overtaken" in page
    assert "failed" not in page
    assert OVERTAKEN in page


def test_a_job_that_kills_its_worker_each_time_fails_in_the_end(job: Job, settings: LazySettings) -> None:
    for _ in range(settings.JOB_MAX_ATTEMPTS):
        assert Job.take(job.pk) is not None
        Job.objects.update(beat_at=timezone.now() - timedelta(seconds=settings.JOB_LEASE_SECONDS + 1))
        Job.give_back()
    job.refresh_from_db()
    assert (job.state, job.code) == (Job.State.FAILED, "worker-lost")


@pytest.mark.usefixtures("_no_handlers_left_behind")
def test_the_row_comes_first_and_the_message_after_the_commit(
    organisation: Organisation, django_capture_on_commit_callbacks: object
) -> None:
    handles("probe", "Probe")(lambda job: (Job.State.DONE, "ok", ""))
    with patch.object(run_job, "apply_async") as sent:
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[operator]
            job = enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
            assert Job.objects.filter(pk=job.pk, state=Job.State.QUEUED).exists()
            assert not sent.called
        sent.assert_called_once_with((job.pk,), retry=False)


@pytest.mark.usefixtures("_no_handlers_left_behind")
def test_the_same_work_waits_once(organisation: Organisation) -> None:
    handles("probe", "Probe")(lambda job: (Job.State.DONE, "ok", ""))
    first = enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
    assert enqueue("probe", 1, organisation_id=organisation.pk, owner=None) == first
    Job.take(first.pk)
    assert enqueue("probe", 1, organisation_id=organisation.pk, owner=None) != first


def test_work_nobody_does_cannot_be_asked_for(organisation: Organisation) -> None:
    with pytest.raises(LookupError):
        enqueue("no-such-work", 1, organisation_id=organisation.pk, owner=None)


@pytest.mark.usefixtures("_no_handlers_left_behind")
def test_a_broker_that_is_away_loses_nothing(organisation: Organisation, settings: LazySettings) -> None:
    handles("probe", "Probe")(lambda job: (Job.State.DONE, "ok", ""))
    with patch.object(run_job, "apply_async", side_effect=OSError("no broker")):
        job = enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
        dispatcher.send(job.pk)
    Job.objects.update(sent_at=timezone.now() - timedelta(seconds=settings.JOB_RESEND_SECONDS + 1))
    with patch.object(run_job, "apply_async") as sent:
        assert sweep() == {"returned": 0, "sent": 1}
    sent.assert_called_once()


@pytest.mark.usefixtures("_no_handlers_left_behind")
def test_a_second_delivery_does_nothing(organisation: Organisation) -> None:
    done: list[int] = []

    def count(job: Job) -> tuple[Job.State, str, str]:
        done.append(job.pk)
        return Job.State.DONE, "ok", ""

    handles("probe", "Probe")(count)
    job = enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
    run_job(job.pk)
    run_job(job.pk)
    assert done == [job.pk]


@pytest.mark.usefixtures("_no_handlers_left_behind")
def test_a_stumble_is_said_and_not_swallowed(organisation: Organisation) -> None:
    def stumble(job: Job) -> tuple[Job.State, str, str]:
        raise ZeroDivisionError

    handles("probe", "Probe")(stumble)
    job = enqueue("probe", 1, organisation_id=organisation.pk, owner=None)
    run_job(job.pk)
    job.refresh_from_db()
    assert (job.state, job.code) == (Job.State.FAILED, "internal-error")


def test_only_one_row_may_wait_for_the_same_work(job: Job, organisation: Organisation) -> None:
    assert "job_queued_once" in {c.name for c in Job._meta.constraints}
    with connection.cursor() as cursor:
        assert "job_queued_once" in connection.introspection.get_constraints(cursor, Job._meta.db_table)
