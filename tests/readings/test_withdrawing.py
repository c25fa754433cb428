"""A file is withdrawn: its readings are kept and count no more, and what others held of them does."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from auditlog.models import LogEntry
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from campaigns.models import Campaign, Channel, Instrument, Job, User
from campaigns.signals import inputs_changed
from campaigns.tasks import run_job
from readings.models import AsideReading, Envelope, Reading, SettingAside, Upload
from readings.queries import placement_of
from readings.services import upload_decisions
from readings.services.reading_anew import read_in_again
from readings.services.understanding import Fixed, settle, why_fixed
from readings.services.withdrawing import read_after, withdraw
from readings.store import aside
from tests import factories as make
from tests.readings.doing import TEN, WALL, Read, a_log, hand_in, read, stored

Take = Callable[..., Read]
VALUES = [float(value) for value in TEN]
COLUMNS = ("channel_id", "stamp", "nth", "raw", "flag", "upload_id", "line")


def moved(upload: Upload) -> Job:
    """Do the job that sets its readings aside, here and now."""
    job = Job.objects.get(kind="set-aside", subject_id=upload.pk, state=Job.State.QUEUED)
    run_job(job.pk)
    job.refresh_from_db()
    upload.refresh_from_db()
    return job


def gone(upload: Upload, by: User) -> SettingAside:
    withdraw(upload, "another building", by)
    assert moved(upload).state == Job.State.DONE
    return SettingAside.objects.get(upload=upload)


def test_its_readings_are_kept_as_they_were_and_count_no_more(take: Take, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log([*TEN[:8], "error", "<0.01"]))
    before = list(Reading.objects.order_by("stamp", "nth").values_list(*COLUMNS))
    assert len(before) == 10
    decided = gone(upload, consultant)
    assert stored(channel) == []
    assert list(AsideReading.objects.order_by("stamp", "nth").values_list(*COLUMNS)) == before
    assert set(AsideReading.objects.values_list("setting_aside", flat=True)) == {decided.pk}
    assert not Envelope.objects.exists(), "no envelope is left over readings that do not count"
    assert (decided.count, decided.done_at is not None) == (10, True)
    assert (upload.state, upload.stored) == (Upload.State.WITHDRAWN, 10)
    assert placement_of(upload).lines == 0


@pytest.mark.history
def test_who_when_and_why_are_kept(take: Take, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    decided = gone(upload, consultant)
    assert (decided.by, decided.reason) == (consultant, "another building")
    (changes,) = [e.changes for e in LogEntry.objects.get_for_object(upload) if "withdrawn" in str(e.changes)]
    assert changes["state"] == ["read", "withdrawn"]
    assert LogEntry.objects.get_for_object(decided).exists()


def test_a_reason_is_needed(take: Take, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    with pytest.raises(ValidationError):
        withdraw(upload, "", consultant)
    upload.refresh_from_db()
    assert upload.state == Upload.State.READ
    assert stored(channel) == VALUES


def test_those_who_judge_are_told_when_all_is_moved(take: Take, campaign: Campaign, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    told: list[int] = []

    def hear(campaign_ids: list[int], **_: Any) -> None:
        assert not Reading.objects.exists()
        told.extend(campaign_ids)

    inputs_changed.connect(hear)
    try:
        gone(upload, consultant)
    finally:
        inputs_changed.disconnect(hear)
    assert told == [campaign.pk]


def test_twice_is_refused(take: Take, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    gone(upload, consultant)
    with pytest.raises(ValidationError, match="withdrawn already"):
        withdraw(upload, "again", consultant)


def test_not_while_it_is_being_read(campaign: Campaign, meter: Instrument, consultant: User) -> None:
    upload = hand_in(campaign, a_log(TEN), instrument=meter)
    assert Job.take(Job.objects.get(kind="read-upload", state=Job.State.QUEUED).pk) is not None
    with pytest.raises(ValidationError, match="being read at this moment"):
        withdraw(upload, "wrong", consultant)
    assert not SettingAside.objects.exists()


def test_what_waits_to_be_read_is_not_read_any_more(
    campaign: Campaign, meter: Instrument, channel: Channel, consultant: User
) -> None:
    upload = hand_in(campaign, a_log(TEN), instrument=meter)
    withdraw(upload, "wrong", consultant)
    assert read(upload).code == "withdrawn"
    assert (upload.state, stored(channel)) == (Upload.State.WITHDRAWN, [])


def test_nothing_else_is_decided_about_it(take: Take, meter: Instrument, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    gone(upload, consultant)
    decisions: list[Callable[[], None]] = [
        lambda: upload_decisions.choose_instrument(upload, None, consultant),
        lambda: upload_decisions.leave_outside(upload),
        lambda: upload_decisions.say_twin(upload, "same", consultant),
    ]
    for decide in decisions:
        with pytest.raises(ValidationError, match="withdrawn"):
            decide()
    assert "withdrawn" in why_fixed(upload)
    with pytest.raises(Fixed, match="withdrawn"):
        settle(upload, None, consultant)  # type: ignore[arg-type]


# --- what others held -------------------------------------------------------------------------------------------------


def test_what_another_file_held_of_it_counts_now(take: Take, channel: Channel, consultant: User) -> None:
    """The second download of the same memory stored only what was new; the first one goes, and it is read again."""
    first, _ = take(a_log(TEN[:6]), "first.csv")
    second, _ = take(a_log(TEN), "second.csv")
    assert (second.stored, second.held) == (4, 6)
    assert list(read_after(first)) == [second]
    gone(first, consultant)
    assert stored(channel) == VALUES[6:]
    read(second)
    assert stored(channel) == VALUES
    assert (second.stored, second.held, second.state) == (10, 0, Upload.State.READ)


def test_a_value_that_clashed_is_stored_when_the_other_is_gone(take: Take, channel: Channel, consultant: User) -> None:
    first, _ = take(a_log([0.5, 0.6]), "first.csv")
    second, _ = take(a_log([0.5, 0.7]), "second.csv")
    assert second.problems.filter(code="held-differently").exists()
    gone(first, consultant)
    read(second)
    assert stored(channel) == [0.5, 0.7]
    assert second.problem_count == 0


def test_a_file_that_was_left_out_as_the_same_memory_is_asked_again(
    take: Take, campaign: Campaign, consultant: User
) -> None:
    values = [round(0.05 + 0.03 * math.sin(k / 7) + 0.001 * (k * k % 7), 3) for k in range(400)]
    first, _ = take(a_log(values), "local.csv")
    later, job = take(a_log(values, start=WALL + timedelta(hours=1)), "later.csv")
    assert job.code == "same-memory"
    assert list(read_after(first)) == [later]
    gone(first, consultant)
    assert read(later).state == Job.State.DONE
    assert later.stored == 400


def test_files_of_other_times_are_left_alone(take: Take, consultant: User) -> None:
    first, _ = take(a_log(TEN), "first.csv")
    take(a_log(TEN[::-1], start=WALL + timedelta(days=9)), "other.csv")
    take(a_log(TEN[::-1], start=WALL + timedelta(days=9)) + "\n", "other-again.csv")
    assert not read_after(first).exists()
    gone(first, consultant)
    assert not Job.objects.filter(kind="read-upload", state=Job.State.QUEUED).exists()


# --- again ------------------------------------------------------------------------------------------------------------


def test_it_may_be_handed_in_again(take: Take, campaign: Campaign, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    gone(upload, consultant)
    again, _ = take(a_log(TEN))
    assert again.pk != upload.pk
    assert (again.stored, stored(channel)) == (10, VALUES)


def test_handed_in_again_before_all_was_moved(take: Take, channel: Channel, consultant: User) -> None:
    """The second is read while the first one's readings are there still; it is read again after they are gone."""
    upload, _ = take(a_log(TEN))
    withdraw(upload, "wrong", consultant)
    again, _ = take(a_log(TEN))
    assert again.held == 10
    moved(upload)
    read(again)
    assert (again.stored, again.held, stored(channel)) == (10, 0, VALUES)


def test_it_is_read_in_again_as_it_was(take: Take, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    gone(upload, consultant)
    again = read_in_again(upload, consultant)
    read(again)
    assert (again.reads_anew, again.original.name, again.settled) == (upload, upload.original.name, upload.settled)
    assert stored(channel) == VALUES
    assert AsideReading.objects.count() == 10, "the history stays"
    with pytest.raises(ValidationError, match="read in again already"):
        read_in_again(upload, consultant)
    with pytest.raises(ValidationError, match="counts already"):
        read_in_again(again, consultant)


# --- killed -----------------------------------------------------------------------------------------------------------


def test_a_worker_that_is_killed_leaves_whole_chunks_and_the_next_goes_on(
    take: Take, channel: Channel, consultant: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("readings.services.reading.CHUNK_ROWS", 4)
    upload, _ = take(a_log(TEN))
    assert Envelope.objects.count() == 3
    withdraw(upload, "wrong", consultant)
    real, seen = aside.move_chunk, []

    def killed(*given: Any) -> int:
        seen.append(given)
        if len(seen) == 2:
            raise MemoryError
        return real(*given)

    with monkeypatch.context() as patch:
        patch.setattr(aside, "move_chunk", killed)
        assert moved(upload).state != Job.State.DONE
    decided = SettingAside.objects.get()
    assert (AsideReading.objects.count(), Reading.objects.count(), decided.done_at) == (4, 6, None)
    assert decided.count == 4
    assert sum(Envelope.objects.values_list("count", flat=True)) == 6
    again = Job.objects.create(kind="set-aside", subject_id=upload.pk, organisation_id=decided.organisation_id)
    run_job(again.pk)
    decided.refresh_from_db()
    assert (AsideReading.objects.count(), Reading.objects.count(), decided.count) == (10, 0, 10)
    assert decided.done_at is not None


def test_a_second_run_changes_nothing(take: Take, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    decided = gone(upload, consultant)
    again = Job.objects.create(kind="set-aside", subject_id=upload.pk, organisation_id=decided.organisation_id)
    run_job(again.pk)
    again.refresh_from_db()
    assert again.message == "10 readings set aside."
    assert AsideReading.objects.count() == 10


# --- what cannot be ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "wrong",
    [
        {},
        {"channel": True},
        {"channel": True, "first_stamp_ms": 5, "last_stamp_ms": 4},
        {"channel": True, "upload": True, "first_stamp_ms": 5, "last_stamp_ms": 6},
    ],
)
def test_a_setting_aside_is_of_one_thing(take: Take, channel: Channel, wrong: dict[str, Any]) -> None:
    upload, _ = take(a_log(TEN))
    rows = {"channel": channel, "upload": upload}
    given = {name: rows[name] if value is True else value for name, value in wrong.items()}
    with pytest.raises(IntegrityError), transaction.atomic():
        SettingAside.objects.create(organisation=channel.instrument.organisation, reason="x", **given)


def test_one_active_upload_of_the_same_bytes_for_an_instrument(take: Take, campaign: Campaign) -> None:
    upload, _ = take(a_log(TEN))
    same = {"campaign": campaign, "sha256": upload.sha256, "filename": "x", "size": 1, "uploaded_by": None}
    with pytest.raises(IntegrityError), transaction.atomic():
        Upload.objects.create(instrument=upload.instrument, **same)
    Upload.objects.create(**same)
    with pytest.raises(IntegrityError), transaction.atomic():
        Upload.objects.create(**same)
    Upload.objects.create(instrument=upload.instrument, state="withdrawn", **same)
    Upload.objects.create(instrument=make.InstrumentFactory.create(organisation=campaign.site.organisation), **same)
