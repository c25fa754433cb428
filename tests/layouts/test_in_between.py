"""What happens between a person who settles a layout and a worker who reads: each line is read in one way only."""

from __future__ import annotations

import threading
import time
from typing import Any

import pytest
from django.db import connection, transaction

from campaigns.models import Campaign, Instrument, Job, User
from campaigns.tasks import run_job
from methods.logs.layouts.layout_answers import answer
from methods.logs.types import Layout, LayoutQuestion
from readings.models import SavedLayout, Upload
from readings.services import reading
from readings.services.receive import ask_to_read
from readings.services.understanding import Fixed, recall, settle, why_fixed
from readings.store import write
from tests.layouts.files import AMBIGUOUS, CLEAR, a_log, stored
from tests.readings.doing import hand_in, read

ORDER = LayoutQuestion("day_or_month", "", (("day_first", ""), ("month_first", "")))


def layout_of(upload: Upload, order: str) -> Layout:
    understood = recall(upload)
    assert understood is not None
    assert understood.base is not None
    return answer(understood.base, ORDER, order)


class Stopped(BaseException):
    """The worker is killed: nothing in the code catches this."""


@pytest.fixture
def _killed_at_the_second_chunk(monkeypatch: pytest.MonkeyPatch) -> None:
    written = [0]

    def once(batches: list[Any], file: Any) -> Any:
        written[0] += 1
        if written[0] == 2:
            raise Stopped
        return write(batches, file)

    monkeypatch.setattr(reading, "CHUNK_ROWS", 2)
    monkeypatch.setattr(reading, "write", once)


@pytest.mark.usefixtures("_killed_at_the_second_chunk")
def test_a_killed_worker_s_successor_reads_with_the_same_layout(
    campaign: Campaign, meter: Instrument, consultant: User
) -> None:
    """Between the two runs somebody keeps a layout that says otherwise about files of this shape."""
    upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
    read(upload)
    settle(upload, layout_of(upload, "day_first"), consultant)
    job = Job.objects.get(subject_id=upload.pk, state=Job.State.QUEUED)
    with pytest.raises(Stopped):
        run_job(job.pk)
    assert len(stored(upload)) == 2
    Job.objects.filter(pk=job.pk).update(state=Job.State.FAILED)
    upload.refresh_from_db()
    other = hand_in(campaign, AMBIGUOUS + "03/02/2026 09:00,0.1\n", "other.csv", meter)
    read(other)
    settle(other, layout_of(other, "month_first"), consultant, keep_as="otherwise")
    ask_to_read(upload, consultant)
    read(upload)
    assert [stamp for stamp, *_ in stored(upload)] == [f"2026-02-01 09:0{minute}:00" for minute in range(3)]


@pytest.mark.usefixtures("_killed_at_the_second_chunk")
def test_so_does_the_successor_of_one_who_read_a_clear_file(
    campaign: Campaign, meter: Instrument, consultant: User
) -> None:
    upload = hand_in(campaign, CLEAR, instrument=meter)
    job = Job.objects.get(subject_id=upload.pk, state=Job.State.QUEUED)
    with pytest.raises(Stopped):
        run_job(job.pk)
    upload.refresh_from_db()
    Job.objects.filter(pk=job.pk).update(state=Job.State.FAILED)
    settled = Layout.from_json(upload.settled)
    assert "never altered" in why_fixed(upload)
    with pytest.raises(Fixed):
        settle(upload, settled, consultant)
    time_column, value_column = upload.settled["columns"]
    SavedLayout.objects.create(
        organisation=campaign.site.organisation,
        name="mass",
        shape_key=settled.shape_key(),
        seen=upload.settled,
        content={**upload.settled, "columns": [time_column, {**value_column, "unit": "mg/m³"}]},
    )
    ask_to_read(upload, consultant)
    read(upload)
    assert [(unit, value) for _, _, unit, value in stored(upload)] == [("ppm", 0.031), ("ppm", 0.032), ("ppm", 0.033)]
    other = hand_in(campaign, CLEAR.replace("09:", "10:"), "other.csv", meter)
    read(other)
    assert {unit for _, _, unit, _ in stored(other)} == {"mg/m³"}, "what was kept does hold for the next file"


def test_nothing_is_fixed_by_a_file_of_which_nothing_is_stored(
    campaign: Campaign, meter: Instrument, consultant: User
) -> None:
    """All its readings are held from another file."""
    read(hand_in(campaign, CLEAR, instrument=meter))
    again = hand_in(campaign, "# copied again\n" + CLEAR, "again.csv", meter)
    read(again)
    assert (again.state, again.stored, again.held) == (Upload.State.READ, 0, 3)
    assert why_fixed(again) == ""


@pytest.mark.django_db(transaction=True)
def test_a_worker_waits_for_who_is_settling(campaign: Campaign, meter: Instrument, consultant: User) -> None:
    """The job is taken while the decision is on its way: it is read with the decision, not beside it."""
    upload = hand_in(campaign, a_log("01/02/2026 09:00,0.1", "02/02/2026 09:00,0.2"), instrument=meter)
    read(upload)
    ask_to_read(upload, consultant)
    job = Job.objects.get(subject_id=upload.pk, state=Job.State.QUEUED)

    def work() -> None:
        run_job(job.pk)
        connection.close()

    worker = threading.Thread(target=work)
    with transaction.atomic():
        settle(upload, layout_of(upload, "month_first"), consultant)
        worker.start()
        time.sleep(0.5)
        assert worker.is_alive()
        upload.refresh_from_db()
        assert not stored(upload)
    worker.join(timeout=30)
    assert [stamp for stamp, *_ in stored(upload)] == ["2026-01-02 09:00:00", "2026-02-02 09:00:00"]
