"""From a file that was handed in to stored readings: the job, end to end, here and now."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.conf import LazySettings
from django.utils import timezone

from campaigns.models import Campaign, Channel, Instrument, Job, LostLease, Site, User
from campaigns.tasks import run_job
from methods.quantities.moments import stamp_ms
from readings import store
from readings.models import Upload
from readings.queries import rows
from readings.services import reading
from readings.services.receive import ask_to_read
from readings.store import Batch, Intake, StoreTally
from tests import factories as make
from tests.readings.doing import WALL, a_log, hand_in, read, told

EVER = (-(2**62), 2**62)
FIRST = stamp_ms(WALL)


def raw(channel: Channel) -> list[float]:
    values: list[float] = rows(channel.pk, *EVER)["raw"].tolist()
    return values


class TestWhichInstrument:
    def test_the_one_that_was_named(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        upload = hand_in(campaign, a_log([0.031, 0.032, 0.033]), instrument=meter)
        job = read(upload)
        assert (job.state, job.code, job.message) == (Job.State.DONE, "read", "3 readings stored.")
        assert (upload.state, upload.lines, upload.stored, upload.held) == (Upload.State.READ, 3, 3, 0)
        assert (upload.first_stamp_ms, upload.last_stamp_ms) == (FIRST, FIRST + 20_000)
        found = rows(channel.pk, *EVER)
        assert found["stamp"].tolist() == [FIRST, FIRST + 10_000, FIRST + 20_000]
        assert found["raw"].tolist() == [0.031, 0.032, 0.033]
        assert found["line"].tolist() == [2, 3, 4]
        assert set(found["upload_id"].tolist()) == {upload.pk}

    def test_the_one_whose_serial_is_in_the_file(self, campaign: Campaign, meter: Instrument) -> None:
        make.InstrumentFactory.create(organisation=meter.organisation, serial="FL-7002")
        upload = hand_in(campaign, a_log([0.031], serial="FL-7001"))
        read(upload)
        assert upload.instrument == meter

    def test_what_a_person_named_counts_more_than_the_file(self, campaign: Campaign, meter: Instrument) -> None:
        other = make.InstrumentFactory.create(organisation=meter.organisation)
        upload = hand_in(campaign, a_log([0.031], serial="FL-7001"), instrument=other)
        read(upload)
        assert upload.instrument == other

    def test_an_unknown_serial_is_asked_about(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        upload = hand_in(campaign, a_log([0.031], serial="FL-9999"))
        job = read(upload)
        assert (job.state, job.code) == (Job.State.ATTENTION, "which-instrument")
        assert job.message.endswith("Its serial number (FL-9999) is not among your instruments.")
        assert (upload.state, upload.instrument, upload.stored) == (Upload.State.ATTENTION, None, 0)
        assert told(upload) == [(0, "", "FL-9999", "which-instrument")]
        assert raw(channel) == []

        upload.instrument = meter
        upload.save()
        ask_to_read(upload, None)
        assert read(upload).state == Job.State.DONE
        assert raw(channel) == [0.031]
        assert told(upload) == []

    def test_a_file_that_names_none(self, campaign: Campaign, meter: Instrument) -> None:
        job = read(hand_in(campaign, a_log([0.031])))
        assert (job.state, job.code) == (Job.State.ATTENTION, "which-instrument")
        assert job.message.endswith("The file names no serial number.")

    def test_an_instrument_of_another_house_is_not_found(self, campaign: Campaign, stranger: User) -> None:
        """Nor is it said that somebody has it."""
        house = stranger.memberships.get().organisation
        theirs = make.InstrumentFactory.create(organisation=house, serial="FL-5555")
        job = read(hand_in(campaign, a_log([0.031], serial="FL-5555")))
        assert job.code == "which-instrument"
        assert raw(theirs.channels.get()) == []

    def test_two_serials_in_one_file_are_not_guessed_between(self, campaign: Campaign, meter: Instrument) -> None:
        make.InstrumentFactory.create(organisation=meter.organisation, serial="FL-7002")
        text = "Serial number: FL-7001\nSerial number: FL-7002\n" + a_log([0.031, 0.032])
        assert read(hand_in(campaign, text)).code == "which-instrument"


class TestWhichChannel:
    def test_another_unit_is_not_converted_but_named(
        self, campaign: Campaign, meter: Instrument, channel: Channel
    ) -> None:
        upload = hand_in(campaign, a_log([31, 32], head="time,formaldehyde [µg/m³]"), instrument=meter)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.ATTENTION, "unit-differs")
        assert "is in µg/m³, but meter N measures formaldehyde in ppm" in job.message
        assert upload.state == Upload.State.ATTENTION
        assert raw(channel) == []

        make.ChannelSpecFactory.create(instrument_type=meter.type, unit="µg/m³", resolution=1, range_high=5000)
        ask_to_read(upload, None)
        assert read(upload).state == Job.State.DONE
        assert raw(meter.channels.get(spec__unit="µg/m³")) == [31, 32]
        assert raw(channel) == []

    def test_a_column_without_channel_is_a_problem_and_the_rest_is_stored(
        self, campaign: Campaign, meter: Instrument, channel: Channel
    ) -> None:
        text = "time,formaldehyde [ppm],CO2 [ppm]\n2026-09-15 09:00:00,0.031,512\n2026-09-15 09:00:10,0.032,515\n"
        upload = hand_in(campaign, text, instrument=meter)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.ATTENTION, "no-channel")
        assert told(upload) == [(1, "CO2 [ppm]", "ppm", "no-channel")]
        assert "meter N has no such channel" in job.message
        assert raw(channel) == [0.031, 0.032]

    def test_two_channels_of_one_line(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", unit="°C", range_low=-20)
        text = "time,formaldehyde [ppm],temperature [°C]\n2026-09-15 09:00:00,0.031,21.5\n2026-09-15 09:00:10,,21.6\n"
        upload = hand_in(campaign, text, instrument=meter)
        read(upload)
        assert (upload.lines, upload.stored) == (2, 3), "an empty cell stores nothing"
        assert raw(channel) == [0.031]
        assert raw(meter.channels.get(spec__parameter="temperature")) == [21.5, 21.6]


class TestTheSameMemoryAgain:
    def test_with_more_at_its_end(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        read(hand_in(campaign, a_log([0.01, 0.02, 0.03]), "monday.csv", meter))
        second = hand_in(campaign, a_log([0.01, 0.02, 0.03, 0.04]), "tuesday.csv", meter)
        job = read(second)
        assert job.message == "1 reading stored, 3 already held."
        assert (second.stored, second.held, second.problem_count) == (1, 3, 0)
        assert raw(channel) == [0.01, 0.02, 0.03, 0.04]

    def test_a_ring_that_has_lost_its_beginning(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        read(hand_in(campaign, a_log([0.01, 0.02, 0.03]), "monday.csv", meter))
        later = hand_in(campaign, a_log([0.03, 0.04], start=WALL + timedelta(seconds=20)), "tuesday.csv", meter)
        read(later)
        assert (later.stored, later.held) == (1, 1)
        assert raw(channel) == [0.01, 0.02, 0.03, 0.04]

    def test_whole_minutes_with_several_points_in_each(
        self, campaign: Campaign, meter: Instrument, channel: Channel
    ) -> None:
        """Equal stamps are told apart by their order, so they are found held, too."""
        short = a_log([1, 2, 3, 3, 5, 6, 7], every_s=20, form="%Y-%m-%d %H:%M")
        read(hand_in(campaign, short, "monday.csv", meter))
        longer = hand_in(campaign, short + "2026-09-15 09:02,8\n", "tuesday.csv", meter)
        read(longer)
        assert (longer.stored, longer.held) == (1, 7)
        found = rows(channel.pk, *EVER)
        assert found["raw"].tolist() == [1, 2, 3, 3, 5, 6, 7, 8]
        assert found["nth"].tolist() == [0, 1, 2, 0, 1, 2, 0, 1]

    def test_another_value_under_a_held_key_is_shown_and_not_taken(
        self, campaign: Campaign, meter: Instrument, channel: Channel
    ) -> None:
        read(hand_in(campaign, a_log([0.01, 0.02, 0.03]), "monday.csv", meter))
        edited = hand_in(campaign, a_log([0.01, 0.99, 0.03]), "edited.csv", meter)
        job = read(edited)
        assert job.state == Job.State.DONE
        assert (edited.stored, edited.held) == (0, 2)
        assert told(edited) == [(3, "Formaldehyde", "0.99", "held-differently")]
        assert edited.problems.get().message == (
            "2026-09-15 09:00:10 is already held with 0.02, in ppm (another file, line 3); this file says 0.99. "
            "The held value stays."
        )
        assert raw(channel) == [0.01, 0.02, 0.03]

    def test_an_error_where_a_value_is_held(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        read(hand_in(campaign, a_log([0.01, 0.02, 0.03]), "monday.csv", meter))
        edited = hand_in(campaign, a_log([0.01, "ERR", 0.03]), "edited.csv", meter)
        read(edited)
        assert "this file says no value (the logger stored an error or no value)" in edited.problems.get().message
        other = hand_in(campaign, a_log([0.01, "<0.02", 0.03]), "below.csv", meter)
        read(other)
        assert "this file says 0.02 (below the detection limit)" in other.problems.get().message
        assert raw(channel) == [0.01, 0.02, 0.03]

    def test_the_same_file_again_after_a_decision_counts_its_own_rows_as_stored(
        self, campaign: Campaign, meter: Instrument
    ) -> None:
        upload = hand_in(campaign, a_log([0.01, 0.02]), instrument=meter)
        read(upload)
        ask_to_read(upload, None)
        read(upload)
        assert (upload.stored, upload.held, upload.problem_count) == (2, 0, 0)


class TestCutShort:
    """Chunks of 100 lines, and something happens at the third of ten."""

    @pytest.fixture(autouse=True)
    def _small_chunks(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(reading, "CHUNK_ROWS", 100)

    @pytest.fixture
    def upload(self, campaign: Campaign, meter: Instrument) -> Upload:
        return hand_in(campaign, a_log(self.values()), instrument=meter)

    @staticmethod
    def values() -> list[float]:
        values: list[float] = (np.arange(1000) / 1000).tolist()
        return values

    def interrupt(self, monkeypatch: pytest.MonkeyPatch, happens: Any, *, after: bool) -> None:
        """Let ``happens()`` be called in the third chunk, before or after its rows are written."""
        real, calls = store.write, iter(range(1000))

        def write(batches: list[Batch], file: Intake) -> StoreTally:
            third = next(calls) == 2
            if third and not after:
                happens()
            tally = real(batches, file)
            if third and after:
                happens()
            return tally

        monkeypatch.setattr(reading, "write", write)

    @pytest.mark.parametrize("after", [False, True])
    def test_a_worker_that_dies_leaves_whole_chunks_and_the_next_one_completes(
        self, upload: Upload, channel: Channel, settings: LazySettings, monkeypatch: pytest.MonkeyPatch, after: bool
    ) -> None:
        def die() -> None:
            raise SystemExit  # not an Exception: nothing in the app sees it, as nothing sees a kill

        with monkeypatch.context() as patch:
            self.interrupt(patch, die, after=after)
            with pytest.raises(SystemExit):
                read(upload)
        assert raw(channel) == self.values()[:200]
        upload.refresh_from_db()
        assert (upload.state, upload.stored) == (Upload.State.RECEIVED, 200), "what is there is counted"

        silent = timezone.now() - timedelta(seconds=settings.JOB_LEASE_SECONDS + 1)
        Job.objects.update(beat_at=silent)
        assert Job.give_back() == 1
        job = read(upload)
        assert (job.state, job.attempts) == (Job.State.DONE, 2)
        assert raw(channel) == self.values()
        assert (upload.state, upload.stored, upload.held) == (Upload.State.READ, 1000, 0)
        assert upload.problem_count == 0

    @pytest.mark.parametrize("after", [False, True])
    def test_who_lost_the_lease_keeps_nothing_of_its_chunk(
        self, upload: Upload, channel: Channel, monkeypatch: pytest.MonkeyPatch, after: bool
    ) -> None:
        other = "11111111-1111-4111-8111-111111111111"

        def taken_over() -> None:
            Job.objects.filter(kind="read-upload").update(claim=other)

        self.interrupt(monkeypatch, taken_over, after=after)
        # In the same transaction as the rows, the takeover is undone with them: so the claim is looked at before.
        lost: list[bool] = []
        real = Job.beat

        def beat(job: Job, *args: Any, **kwargs: Any) -> None:
            try:
                real(job, *args, **kwargs)
            except LostLease:
                lost.append(True)
                raise

        monkeypatch.setattr(Job, "beat", beat)
        job = Job.objects.get()
        run_job(job.pk)
        assert lost == [True]
        assert raw(channel) == self.values()[:200]
        job.refresh_from_db()
        assert job.state == Job.State.RUNNING, "it is the other worker's now"
        upload.refresh_from_db()
        assert (upload.state, upload.stored) == (Upload.State.RECEIVED, 200), "what is there is counted"

    def test_who_lost_the_lease_at_the_end_leaves_the_upload_alone(
        self, upload: Upload, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        real = reading._finish

        def finish(job: Job, *args: Any, **kwargs: Any) -> Any:
            Job.objects.update(claim="11111111-1111-4111-8111-111111111111")
            return real(job, *args, **kwargs)

        monkeypatch.setattr(reading, "_finish", finish)
        run_job(Job.objects.get().pk)
        upload.refresh_from_db()
        assert (upload.state, upload.stored, upload.problem_count) == (Upload.State.RECEIVED, 1000, 0)
        assert Job.objects.get().state == Job.State.RUNNING

    def test_progress_is_said_chunk_by_chunk(self, upload: Upload, monkeypatch: pytest.MonkeyPatch) -> None:
        seen: list[int] = []
        real = Job.beat

        def beat(job: Job, done: int | None = None, *args: Any, **kwargs: Any) -> None:
            real(job, done, *args, **kwargs)
            seen.append(Job.objects.get(pk=job.pk).done)

        monkeypatch.setattr(Job, "beat", beat)
        job = read(upload)
        assert seen == sorted(seen)
        assert len(seen) >= 11
        assert (job.done, job.total, job.unit) == (upload.size, upload.size, "bytes")

    def test_a_stumble_fails_the_job_and_says_so(self, upload: Upload, monkeypatch: pytest.MonkeyPatch) -> None:
        def stumble(*_: Any) -> None:
            raise ZeroDivisionError

        monkeypatch.setattr(reading, "write", stumble)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.FAILED, "internal-error")


class TestJudgedAgain:
    @pytest.fixture
    def judged(self, campaign: Campaign) -> Campaign:
        make.CriterionFactory.create(campaign=campaign)
        Job.objects.filter(kind="evaluate").delete()
        return campaign

    @staticmethod
    def waiting() -> list[int]:
        return list(Job.objects.filter(kind="evaluate", state=Job.State.QUEUED).values_list("subject_id", flat=True))

    def test_once_after_new_readings(self, judged: Campaign, meter: Instrument) -> None:
        read(hand_in(judged, a_log([0.01, 0.02]), "one.csv", meter))
        assert self.waiting() == [judged.pk]
        read(hand_in(judged, a_log([0.03], start=WALL + timedelta(hours=1)), "two.csv", meter))
        assert self.waiting() == [judged.pk]

    def test_not_when_nothing_is_new(self, judged: Campaign, meter: Instrument) -> None:
        read(hand_in(judged, a_log([0.01, 0.02]), "one.csv", meter))
        Job.objects.filter(kind="evaluate").delete()
        held = hand_in(judged, a_log([0.01, 0.02]) + "\n", "again.csv", meter)
        read(held)
        assert (held.stored, held.held) == (0, 2)
        assert self.waiting() == []

    def test_not_without_criteria(self, campaign: Campaign, meter: Instrument) -> None:
        read(hand_in(campaign, a_log([0.01]), instrument=meter))
        assert self.waiting() == []

    def test_not_for_a_file_that_could_not_be_read(self, judged: Campaign, meter: Instrument) -> None:
        read(hand_in(judged, "no log at all", instrument=meter))
        assert self.waiting() == []

    def test_every_campaign_the_instrument_stood_in(self, judged: Campaign, site: Site, meter: Instrument) -> None:
        other, third = make.CampaignFactory.create_batch(2, site=site)
        for campaign in (other, third):
            make.CriterionFactory.create(campaign=campaign)
        make.DeploymentFactory.create(campaign=other, instrument=meter)
        Job.objects.filter(kind="evaluate").delete()
        read(hand_in(judged, a_log([0.01]), instrument=meter))
        assert sorted(self.waiting()) == sorted([judged.pk, other.pk])


class TestOriginalGone:
    """A database that was restored without its files."""

    def test_what_was_read_before_stays(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        upload = hand_in(campaign, a_log([0.01, 0.02]), instrument=meter)
        read(upload)
        Upload.objects.get(pk=upload.pk).original.delete(save=False)  # the bytes, not the row
        ask_to_read(upload, None)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.FAILED, "original-missing")
        assert (upload.state, upload.stored, upload.lines) == (Upload.State.READ, 2, 2)
        assert raw(channel) == [0.01, 0.02]
