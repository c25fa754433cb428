"""Whose turn it is: the files of one organisation never stop those of another one."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
from django.utils import timezone

from campaigns import enqueue as dispatcher
from campaigns.enqueue import Outcome, handles
from campaigns.fair_order import next_for
from campaigns.models import Job, Organisation
from campaigns.tasks import run_job
from tests import factories as make


@pytest.fixture
def other(organisation: Organisation) -> Organisation:
    found: Organisation = make.OrganisationFactory(name="Lintel & Sill")
    return found


@pytest.fixture
def done() -> Iterator[list[int]]:
    """The subjects of jobs, in the order in which they are done."""
    before, done = dict(dispatcher._handlers), []

    def note(job: Job) -> Outcome:
        done.append(job.subject_id)
        return Job.State.DONE, "ok", ""

    handles("probe", "Probe")(note)
    yield done
    dispatcher._handlers.clear()
    dispatcher._handlers.update(before)


def waiting(organisation: Organisation, *subjects: int) -> list[Job]:
    return [Job.objects.create(kind="probe", subject_id=it, organisation=organisation) for it in subjects]


def test_one_file_of_another_house_does_not_wait_for_all_of_them(
    organisation: Organisation, other: Organisation, done: list[int]
) -> None:
    jobs = [*waiting(organisation, *range(100, 110)), *waiting(other, 7)]
    # A worker is busy with a file of the first house, and a second one becomes free.
    assert Job.take(jobs.pop(0).pk)
    run_job(jobs[0].pk)
    assert done == [7]
    for job in jobs:
        run_job(job.pk)
    assert done == [7, *range(101, 110)], "each message stands for one turn, and none is lost"


def test_with_one_worker_it_goes_by_how_long_each_was_worked_for(
    organisation: Organisation, other: Organisation, done: list[int]
) -> None:
    (long,) = waiting(organisation, 99)
    now = timezone.now()
    Job.objects.filter(pk=long.pk).update(
        state=Job.State.DONE, started_at=now - timedelta(minutes=9), ended_at=now - timedelta(minutes=1)
    )
    jobs = [*waiting(organisation, 100, 101), *waiting(other, 7, 8)]
    for job in jobs:
        run_job(job.pk)
    assert done == [7, 8, 100, 101]


def test_what_was_long_ago_does_not_count(organisation: Organisation, other: Organisation, done: list[int]) -> None:
    (long,) = waiting(organisation, 99)
    now = timezone.now()
    Job.objects.filter(pk=long.pk).update(
        state=Job.State.DONE, started_at=now - timedelta(hours=3), ended_at=now - timedelta(hours=2)
    )
    jobs = [*waiting(organisation, 100), *waiting(other, 7)]
    for job in jobs:
        run_job(job.pk)
    assert done == [100, 7]


def test_within_an_organisation_a_message_brings_its_own_job(organisation: Organisation, done: list[int]) -> None:
    jobs = waiting(organisation, 1, 2, 3)
    run_job(jobs[2].pk)
    assert done == [3]
    run_job(jobs[2].pk)  # delivered twice: a turn for what waits longest
    assert done == [3, 1]


def test_what_is_not_due_has_no_turn(organisation: Organisation, other: Organisation) -> None:
    (late,) = waiting(other, 7)
    Job.objects.filter(pk=late.pk).update(due_at=timezone.now() + timedelta(minutes=1))
    assert next_for(late.pk) is None
    (job,) = waiting(organisation, 1)
    found = next_for(late.pk)
    assert found is not None
    assert found.pk == job.pk
