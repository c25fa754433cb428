"""Single readings and stretches of a channel are set aside by a person, and taken back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import numpy as np
import pytest
from auditlog.models import LogEntry
from django.core.exceptions import ValidationError
from django.db import IntegrityError

from campaigns.models import Campaign, Channel, Instrument, Job, User
from campaigns.signals import inputs_changed
from campaigns.tasks import run_job
from methods.figures.block_summary import PART, parts_of
from methods.quantities.moments import stamp_ms
from readings.models import AsideReading, Envelope, Reading, SettingAside, Upload
from readings.queries import rows
from readings.services.reading_anew import read_as_of, read_in_again
from readings.services.stretches_aside import set_aside, take_back
from readings.services.upload_decisions import choose_instrument
from readings.services.withdrawing import withdraw
from readings.store import Batch
from tests import factories as make
from tests.readings.doing import EVER, TEN, WALL, Read, a_log, read, stored
from tests.readings.logs import Logger

Take = Callable[..., Read]
VALUES = [float(value) for value in TEN]
COLUMNS = ("channel_id", "stamp", "nth", "raw", "flag", "upload_id", "line")


def at(second: int) -> int:
    return stamp_ms(WALL + timedelta(seconds=second))


def aside(channel: Channel, first: int, last: int, by: User, reason: str = "the inlet was covered") -> SettingAside:
    (made,) = set_aside([channel], at(first), at(last), reason, by)
    return made


def kept() -> list[tuple[Any, ...]]:
    return list(AsideReading.objects.order_by("channel", "stamp", "nth").values_list(*COLUMNS))


def test_a_stretch_is_kept_and_counts_no_more(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN))
    before = list(Reading.objects.order_by("stamp").values_list(*COLUMNS))
    made = aside(channel, 20, 40, consultant)
    assert stored(channel) == VALUES[:2] + VALUES[5:]
    assert kept() == before[2:5]
    assert (made.count, made.by, made.reason) == (3, consultant, "the inlet was covered")


def test_a_single_reading(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN))
    made = aside(channel, 30, 30, consultant)
    assert (made.count, stored(channel)) == (1, VALUES[:3] + VALUES[4:])


@pytest.mark.history
def test_taken_back_everything_is_as_it_was(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log([*TEN[:3], "error", "<0.01", *TEN[5:]]))
    before = list(Reading.objects.order_by("stamp").values_list(*COLUMNS))
    row = take_back(aside(channel, 10, 60, consultant), consultant)
    assert list(Reading.objects.order_by("stamp").values_list(*COLUMNS)) == before
    assert not AsideReading.objects.exists()
    assert (row.taken_back_by, row.taken_back_at is not None, row.count) == (consultant, True, 6)
    told = {name for entry in LogEntry.objects.get_for_object(row) for name in entry.changes}
    assert {"reason", "taken_back_at"} <= told, "the history keeps that it was set aside, and that it came back"
    with pytest.raises(ValidationError, match="taken back already"):
        take_back(row, consultant)


def test_every_channel_that_has_readings_there(
    take: Take, meter: Instrument, channel: Channel, consultant: User
) -> None:
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="co2", range_high=5000)
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", range_high=60)
    take("time,formaldehyde [ppm],CO2 [ppm]\n" + "".join(f"2026-09-15 09:00:{k}0,0.0{k + 1},40{k}\n" for k in range(6)))
    made = set_aside(list(meter.channels.order_by("pk")), at(0), at(10), "a door stood open", consultant)
    assert [row.count for row in made] == [2, 2]
    assert SettingAside.objects.count() == 2, "a channel without readings there has nothing to be taken back"
    assert Reading.objects.count() == 8


# --- figures ----------------------------------------------------------------------------------------------------------


def parts(channel: Channel) -> np.ndarray:
    found = Envelope.objects.filter(channel=channel).order_by("first_stamp").values_list("parts", flat=True)
    return np.concatenate([np.frombuffer(bytes(one or b""), dtype=PART) for one in found])


def parts_of_what_counts(channel: Channel) -> np.ndarray:
    held = rows(channel.pk, *EVER)
    return parts_of(Batch(1, 1, *(held[name].copy() for name in ("stamp", "nth", "raw", "flag", "line"))))


def test_envelopes_are_of_what_counts(db: None, consultant: User) -> None:
    logger = Logger.new(3)
    logger.hand_in(logger.stamps(0, 700, 10), chunk=1000)
    before = parts(logger.channel)
    peak = int(before["high_stamp"][before["high_raw"].argmax()])
    (made,) = set_aside([logger.channel], peak, peak, "somebody breathed on it", consultant)
    np.testing.assert_array_equal(parts(logger.channel), parts_of_what_counts(logger.channel))
    assert parts(logger.channel)["count"].sum() == 699
    take_back(made, consultant)
    np.testing.assert_array_equal(parts(logger.channel), before)


def test_only_the_envelopes_it_touches_are_made_anew(db: None, consultant: User) -> None:
    logger = Logger.new(4)
    logger.hand_in(logger.stamps(0, 900, 10), chunk=300)
    before = list(Envelope.objects.order_by("first_stamp").values_list("pk", flat=True))
    low = int(rows(logger.channel.pk, *EVER)["stamp"][400])
    set_aside([logger.channel], low, low + 50_000, "x", consultant)
    after = list(Envelope.objects.order_by("first_stamp").values_list("pk", "count"))
    assert [pk for pk, _ in after][::2] == before[::2]
    assert [count for _, count in after] == [300, 294, 300]


def test_all_of_an_envelope(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN))
    made = aside(channel, 0, 90, consultant)
    assert (stored(channel), Envelope.objects.count()) == ([], 0)
    take_back(made, consultant)
    assert (stored(channel), Envelope.objects.get().count) == (VALUES, 10)


def test_every_move_is_counted_with_the_file(take: Take, channel: Channel, consultant: User) -> None:
    """Kept figures are known by it: as many readings elsewhere are not the same readings."""
    upload, _ = take(a_log(TEN))
    take_back(aside(channel, 0, 10, consultant), consultant)
    aside(channel, 20, 30, consultant)
    upload.refresh_from_db()
    assert upload.asides == 3


# --- later files ------------------------------------------------------------------------------------------------------


def test_another_download_does_not_bring_it_back(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN[:6]), "first.csv")
    aside(channel, 20, 40, consultant)
    second, _ = take(a_log(TEN), "second.csv")
    assert stored(channel) == VALUES[:2] + VALUES[5:]
    assert (second.stored, second.held, second.problem_count) == (4, 6, 0)


def test_what_comes_later_of_the_stretch_is_set_aside_with_it(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN[:4]), "first.csv")
    made = aside(channel, 20, 60, consultant)
    second, _ = take(a_log(TEN), "second.csv")
    assert stored(channel) == VALUES[:2] + VALUES[7:]
    made.refresh_from_db()
    assert (made.count, len(kept()), second.stored) == (5, 5, 6)
    take_back(made, consultant)
    assert stored(channel) == VALUES
    assert {upload for *_, upload, _ in AsideReading.objects.values_list(*COLUMNS)} == set()


def test_a_different_value_is_told_as_ever(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log([0.5, 0.6, 0.7]), "first.csv")
    aside(channel, 10, 10, consultant)
    second, _ = take(a_log([0.5, 0.9, 0.7]), "second.csv")
    assert [problem.code for problem in second.problems.all()] == ["held-differently"]
    assert stored(channel) == [0.5, 0.7]


def test_a_run_that_is_repeated_counts_them_as_its_own(take: Take, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    aside(channel, 20, 40, consultant)
    choose_instrument(upload, None, consultant)
    read(upload)
    assert (upload.stored, upload.held) == (10, 0)
    assert stored(channel) == VALUES[:2] + VALUES[5:]


# --- with files that are withdrawn ------------------------------------------------------------------------------------


def test_a_withdrawn_file_takes_its_readings_out_of_the_stretch(take: Take, channel: Channel, consultant: User) -> None:
    """Else taking the stretch back would bring readings of a withdrawn file back."""
    first, _ = take(a_log(TEN[:6]), "first.csv")
    second, _ = take(a_log(TEN), "second.csv")
    made = aside(channel, 20, 40, consultant)
    withdraw(first, "another building", consultant)
    run_job(Job.objects.get(kind="set-aside").pk)
    read(second)
    assert stored(channel) == VALUES[:2] + VALUES[5:]
    made.refresh_from_db()
    first.refresh_from_db()
    assert (made.count, first.set_aside.count) == (3, 6)
    take_back(made, consultant)
    assert stored(channel) == VALUES
    assert set(Reading.objects.values_list("upload", flat=True)) == {second.pk}


def test_read_in_again_the_stretch_still_holds(take: Take, channel: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    aside(channel, 20, 40, consultant)
    withdraw(upload, "wrong", consultant)
    run_job(Job.objects.get(kind="set-aside").pk)
    again = read_in_again(upload, consultant)
    read(again)
    assert stored(channel) == VALUES[:2] + VALUES[5:]
    assert again.stored == 10


def test_as_of_another_instrument_it_does_not(
    take: Take, channel: Channel, meter: Instrument, consultant: User
) -> None:
    other = make.InstrumentFactory.create(organisation=meter.organisation)
    upload, _ = take(a_log(TEN))
    aside(channel, 20, 40, consultant)
    new = read_as_of(upload, other, "swapped", consultant)
    read(new)
    assert stored(other.channels.get()) == VALUES


# --- refused ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("first", "last"), [(10, 30), (30, 50), (25, 26), (0, 90)])
def test_twice_is_refused(take: Take, channel: Channel, consultant: User, first: int, last: int) -> None:
    take(a_log(TEN))
    aside(channel, 20, 40, consultant)
    with pytest.raises(ValidationError, match="set aside already"):
        aside(channel, first, last, consultant)
    assert SettingAside.objects.count() == 1


@pytest.mark.parametrize(
    ("first", "last", "reason", "told"),
    [(200, 300, "x", "No reading"), (40, 20, "x", "ends at or after"), (20, 40, "", "blank")],
)
def test_what_makes_no_sense(
    take: Take, channel: Channel, consultant: User, first: int, last: int, reason: str, told: str
) -> None:
    take(a_log(TEN))
    with pytest.raises(ValidationError, match=told):
        aside(channel, first, last, consultant, reason)
    assert (stored(channel), SettingAside.objects.count()) == (VALUES, 0)


def test_no_channel(consultant: User) -> None:
    with pytest.raises(ValidationError, match="Choose a channel"):
        set_aside([], 0, 1, "x", consultant)


def test_a_file_is_not_taken_back(take: Take, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    with pytest.raises(ValidationError, match="read in again"):
        take_back(withdraw(upload, "wrong", consultant), consultant)


def test_killed_in_between_nothing_has_changed(
    take: Take, channel: Channel, consultant: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    def killed(*_: Any) -> None:
        raise MemoryError

    take(a_log(TEN))
    with monkeypatch.context() as patch:
        patch.setattr("readings.store.aside.made_anew", killed)
        with pytest.raises(MemoryError):
            aside(channel, 20, 40, consultant)
    assert (stored(channel), SettingAside.objects.count(), AsideReading.objects.count()) == (VALUES, 0, 0)
    assert Envelope.objects.get().count == 10


def test_a_key_that_is_taken_stops_all_of_it(take: Take, channel: Channel, consultant: User) -> None:
    """It cannot come to that through the store; if it did, no value would be lost or overwritten."""
    upload, _ = take(a_log(TEN))
    made = aside(channel, 20, 40, consultant)
    Reading.objects.create(channel=channel, stamp=at(30), nth=0, raw=9.0, upload=upload, line=99)
    with pytest.raises(IntegrityError):
        take_back(made, consultant)


def test_those_who_judge_are_told_once_each_time(
    take: Take, campaign: Campaign, channel: Channel, consultant: User
) -> None:
    take(a_log(TEN))
    told: list[list[int]] = []

    def hear(campaign_ids: list[int], **_: Any) -> None:
        told.append(campaign_ids)

    inputs_changed.connect(hear)
    try:
        take_back(aside(channel, 20, 40, consultant), consultant)
    finally:
        inputs_changed.disconnect(hear)
    assert told == [[campaign.pk], [campaign.pk]]
    assert Upload.objects.get().state == Upload.State.READ


def test_an_envelope_that_begins_at_the_first_stamp_there_is(take: Take, channel: Channel, consultant: User) -> None:
    take(a_log(TEN, start=datetime(1970, 1, 1)))  # noqa: DTZ001 - a logger whose clock was never set
    set_aside([channel], 20_000, 40_000, "x", consultant)
    assert sum(Envelope.objects.values_list("count", flat=True)) == len(stored(channel)) == 7
