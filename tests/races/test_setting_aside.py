"""Readings are set aside while workers store them, and by two people at the same moment."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction

from campaigns.models import Campaign, Channel, Job, User
from campaigns.tasks import run_job
from readings.models import AsideReading, Envelope, Reading, SettingAside, Upload
from readings.queries.aside_stretches import held_rows
from readings.services import withdrawing
from readings.services.stretches_aside import set_aside, take_back
from readings.services.withdrawing import withdraw
from readings.store import Batch, StoreTally, aside, merge, write
from tests import factories as make
from tests.races.meeting import Meeting, at_once
from tests.readings.doing import TEN, a_log, hand_in, read, stored

pytestmark = pytest.mark.django_db(transaction=True)

VALUES = [float(value) for value in TEN]


@pytest.fixture(autouse=True)
def _unsent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("campaigns.enqueue.send", lambda job_id: None)


@pytest.fixture
def channel(transactional_db: None) -> Channel:
    return make.InstrumentFactory.create().channels.get()


@pytest.fixture
def campaign(channel: Channel) -> Campaign:
    return make.CampaignFactory.create(site__organisation=channel.instrument.organisation)


@pytest.fixture
def person(transactional_db: None) -> User:
    return make.UserFactory.create()


def an_upload(campaign: Campaign, channel: Channel, n: int = 0) -> Upload:
    return Upload.objects.create(
        campaign=campaign, instrument=channel.instrument, filename=str(n), size=1, sha256=f"{n:064d}"
    )


def storing(channel: Channel, upload: Upload, first: int, last: int) -> Callable[[], StoreTally]:
    stamps = np.arange(first, last, dtype=np.int64)
    none = np.zeros(len(stamps), dtype=np.int64)

    def store() -> StoreTally:
        with transaction.atomic():
            Upload.objects.filter(pk=upload.pk).update(settled={})  # as the first chunk of a file does
            return write([Batch(channel.pk, upload.pk, stamps, none, stamps / 1000, none, none)])

    return store


def refused(doing: Callable[[], Any]) -> Callable[[], Any]:
    def do() -> Any:
        try:
            return doing()
        except ValidationError as error:
            return error.messages[0]

    return do


def test_no_reading_of_a_stretch_slips_past(
    channel: Channel, campaign: Campaign, person: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worker has looked what is set aside and has not stored yet; meanwhile a person sets the stretch aside."""
    first, second = (an_upload(campaign, channel, n) for n in range(2))
    storing(channel, first, 0, 50)()
    monkeypatch.setattr(merge, "held_rows", Meeting(patience_s=1).after(held_rows))
    at_once(storing(channel, second, 40, 90), lambda: set_aside([channel], 30, 60, "covered", person))
    counted = set(Reading.objects.values_list("stamp", flat=True))
    kept = set(AsideReading.objects.values_list("stamp", flat=True))
    assert counted == {*range(30), *range(61, 90)}
    assert kept == set(range(30, 61))
    assert sum(Envelope.objects.values_list("count", flat=True)) == len(counted)
    assert SettingAside.objects.get().count == 31


def test_a_stretch_is_taken_back_while_more_of_it_comes(
    channel: Channel, campaign: Campaign, person: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, second = (an_upload(campaign, channel, n) for n in range(2))
    storing(channel, first, 0, 50)()
    (made,) = set_aside([channel], 30, 60, "covered", person)
    monkeypatch.setattr(merge, "held_rows", Meeting(patience_s=1).after(held_rows))
    at_once(storing(channel, second, 40, 90), lambda: take_back(made, person))
    assert set(Reading.objects.values_list("stamp", flat=True)) == set(range(90))
    assert not AsideReading.objects.exists()
    assert sum(Envelope.objects.values_list("count", flat=True)) == 90


def test_two_who_set_the_same_stretch_aside(channel: Channel, campaign: Campaign, person: User) -> None:
    storing(channel, an_upload(campaign, channel), 0, 50)()
    answers = at_once(*[refused(lambda: set_aside([channel], 10, 20, "covered", person))] * 3)
    assert [isinstance(answer, str) for answer in answers].count(False) == 1
    assert (SettingAside.objects.count(), AsideReading.objects.count()) == (1, 11)


def test_two_who_take_it_back(channel: Channel, campaign: Campaign, person: User) -> None:
    storing(channel, an_upload(campaign, channel), 0, 50)()
    (made,) = set_aside([channel], 10, 20, "covered", person)
    answers = at_once(*[refused(lambda: take_back(made, person))] * 2)
    assert answers.count("It was taken back already.") == 1
    assert Reading.objects.count() == 50


def test_two_who_withdraw_a_file(channel: Channel, campaign: Campaign, person: User) -> None:
    upload = hand_in(campaign, a_log(TEN), instrument=channel.instrument)
    read(upload)
    answers = at_once(*[refused(lambda: withdraw(upload, "wrong", person))] * 2)
    assert answers.count("It is withdrawn already.") == 1
    assert Job.objects.filter(kind="set-aside").count() == 1


def test_a_worker_takes_up_what_is_being_withdrawn(channel: Channel, campaign: Campaign, person: User) -> None:
    """Either the person is told that it is being read, or nothing of it is."""
    for n in range(5):
        upload = hand_in(campaign, a_log([*TEN, n]), instrument=channel.instrument)
        job = Job.objects.get(kind="read-upload", subject_id=upload.pk, state=Job.State.QUEUED)

        def work(job_id: int = job.pk) -> None:
            run_job(job_id)

        answers = at_once(refused(partial(withdraw, upload, "wrong", person)), work)
        for moving in Job.objects.filter(kind="set-aside", state=Job.State.QUEUED):
            run_job(moving.pk)
        upload.refresh_from_db()
        told = isinstance(answers[0], str)
        assert upload.state == (Upload.State.READ if told else Upload.State.WITHDRAWN)
        assert Reading.objects.filter(upload=upload).exists() == told
        if told:
            withdraw(upload, "for the next turn", person)
            run_job(Job.objects.get(kind="set-aside", state=Job.State.QUEUED).pk)


def test_two_workers_move_the_same_readings(
    channel: Channel, campaign: Campaign, person: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lease was given away while its worker was only slow."""
    upload = hand_in(campaign, a_log(TEN), instrument=channel.instrument)
    read(upload)
    decided = withdraw(upload, "wrong", person)
    jobs = [Job.objects.get(kind="set-aside"), Job.objects.create(
        kind="set-aside", subject_id=upload.pk, organisation_id=decided.organisation_id, state=Job.State.DONE
    )]  # fmt: skip
    Job.objects.filter(pk=jobs[0].pk).update(state=Job.State.DONE)
    Job.objects.filter(pk=jobs[1].pk).update(state=Job.State.QUEUED)
    assert Job.take(jobs[1].pk) is not None
    Job.objects.filter(pk=jobs[0].pk).update(state=Job.State.QUEUED)
    assert Job.take(jobs[0].pk) is not None
    monkeypatch.setattr(aside, "move_chunk", Meeting(patience_s=1).before(aside.move_chunk))
    running = [Job.objects.get(pk=job.pk) for job in jobs]
    at_once(*[lambda job=job: withdrawing.finish(SettingAside.objects.get(), job) for job in running])
    assert (Reading.objects.count(), AsideReading.objects.count()) == (0, 10)
    assert SettingAside.objects.get().count == 10
    assert stored(channel) == []


def test_the_lock_is_there_on_postgresql(channel: Channel, campaign: Campaign) -> None:
    """Storing holds the channel; without it, the first of these tests would be luck."""
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has one writer at a time")
    with transaction.atomic():
        storing(channel, an_upload(campaign, channel), 0, 5)()
        blocked = at_once(lambda: _locked_out(channel))
    assert blocked == [True]


def _locked_out(channel: Channel) -> bool:
    try:
        with transaction.atomic():
            Channel.objects.select_for_update(nowait=True).get(pk=channel.pk)
    except DatabaseError:
        return True
    return False
