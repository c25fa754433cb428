"""Two workers reach for the same job: a message may come twice, the work is done once."""

from __future__ import annotations

from datetime import timedelta
from unittest.mock import patch

import pytest
from django.conf import LazySettings
from django.utils import timezone

from campaigns import enqueue as dispatcher
from campaigns.enqueue import enqueue, handles
from campaigns.models import Job, Organisation
from campaigns.tasks import run_job, sweep
from tests import factories as make
from tests.races.meeting import Meeting, at_once

pytestmark = pytest.mark.django_db(transaction=True)

ROUNDS = 20


@pytest.fixture
def house(transactional_db: None) -> Organisation:
    return make.OrganisationFactory.create()


@pytest.fixture(autouse=True)
def _own_handlers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dispatcher, "_handlers", dict(dispatcher._handlers))
    monkeypatch.setattr(dispatcher, "_labels", dict(dispatcher._labels))
    monkeypatch.setattr(dispatcher, "send", lambda job_id: None)


def test_exactly_one_takes_it(house: Organisation) -> None:
    for n in range(ROUNDS):
        job = Job.objects.create(kind="test", subject_id=n, organisation=house)
        taken = at_once(*[lambda pk=job.pk: Job.take(pk)] * 3)
        winners = [found for found in taken if found is not None]
        assert len(winners) == 1
        job.refresh_from_db()
        assert (job.attempts, job.claim) == (1, winners[0].claim)


def test_two_deliveries_do_the_work_once(house: Organisation) -> None:
    done: list[int] = []
    handles("probe", "Probe")(lambda job: (done.append(job.pk), (Job.State.DONE, "ok", ""))[1])  # type: ignore[func-returns-value]
    for n in range(5):
        job = enqueue("probe", n, organisation_id=house.pk, owner=None)
        at_once(*[lambda pk=job.pk: run_job(pk)] * 2)
        job.refresh_from_db()
        assert (job.state, job.attempts) == (Job.State.DONE, 1)
        assert done.count(job.pk) == 1


def test_two_sweeps_give_a_job_back_once(house: Organisation, settings: LazySettings) -> None:
    """Beat on two hosts, or beat and an operator. A second return would take the job from who has it by then."""
    job = Job.objects.create(kind="test", subject_id=1, organisation=house)
    for attempt in range(1, settings.JOB_MAX_ATTEMPTS):
        assert Job.take(job.pk) is not None
        Job.objects.update(beat_at=timezone.now() - timedelta(seconds=settings.JOB_LEASE_SECONDS + 1))
        with patch("campaigns.tasks.send"):
            returned = [found["returned"] for found in at_once(sweep, sweep)]
        assert sorted(returned) == [0, 1]
        job.refresh_from_db()
        assert (job.state, job.attempts) == (Job.State.QUEUED, attempt)


def test_asking_twice_for_the_same_work_is_one_job(house: Organisation, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both look, both insert; the database keeps one, and the other is told of it."""
    handles("probe", "Probe")(lambda job: (Job.State.DONE, "ok", ""))
    for n in range(5):
        with monkeypatch.context() as patched:
            patched.setattr(Job.objects, "create", Meeting().before(Job.objects.create))
            ask = lambda n=n: enqueue("probe", n, organisation_id=house.pk, owner=None)  # noqa: E731
            first, second = at_once(ask, ask)
        assert first == second
    assert Job.objects.count() == 5
