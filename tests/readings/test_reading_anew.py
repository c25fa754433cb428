"""A file of which readings are stored is read another way: as another instrument's, or with another layout."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile

from campaigns.models import Campaign, Channel, Instrument, Job, User
from campaigns.tasks import run_job
from methods.logs.layouts.layout_answers import answer
from methods.logs.stamps.date_order import DAY_FIRST, MONTH_FIRST
from methods.logs.types import Layout
from readings.models import AsideReading, Envelope, Reading, SavedLayout, SettingAside, Upload
from readings.services import reading_anew, withdrawing
from readings.services.reading_anew import read_as_of, read_in_again, read_with
from readings.services.receive import receive
from readings.services.understanding import recall, settle
from readings.services.upload_decisions import accept, choose_instrument
from readings.store import aside
from tests import factories as make
from tests.readings.doing import TEN, WALL, Read, a_log, hand_in, read, stored

Take = Callable[..., Read]
VALUES = [float(value) for value in TEN]
COLUMNS = ("channel_id", "stamp", "nth", "raw", "flag", "upload_id", "line")
DAYS = "time,formaldehyde [ppm]\n" + "".join(f"03/04/2026 09:0{k}:00,{value}\n" for k, value in enumerate(TEN))


@pytest.fixture
def other(meter: Instrument) -> Instrument:
    made: Instrument = make.InstrumentFactory.create(organisation=meter.organisation, name="meter S", serial="FL-7002")
    return made


@pytest.fixture
def in_mg(meter: Instrument) -> Channel:
    """A second channel of the meter, in mg/m³."""
    make.ChannelSpecFactory.create(
        instrument_type=meter.type, parameter="formaldehyde", unit="mg/m³", range_high=6, resolution=0.001
    )
    return meter.channels.get(spec__unit="mg/m³")


def layout_of(upload: Upload, **changed: Any) -> Layout:
    return replace(Layout.from_json(upload.settled), **changed)


def in_unit(upload: Upload, unit: str) -> Layout:
    layout = Layout.from_json(upload.settled)
    return replace(layout, columns=tuple(replace(c, unit=unit) if c.unit else c for c in layout.columns))


def test_as_a_log_of_another_instrument(
    take: Take, channel: Channel, meter: Instrument, other: Instrument, consultant: User
) -> None:
    upload, _ = take(a_log(TEN))
    before = list(Reading.objects.order_by("stamp").values_list(*COLUMNS))
    new = read_as_of(upload, other, "the labels were swapped", consultant)
    assert read(new).state == Job.State.DONE
    upload.refresh_from_db()
    assert (new.instrument, new.reads_anew, new.stored, new.held) == (other, upload, 10, 0)
    assert (upload.state, upload.instrument) == (Upload.State.WITHDRAWN, meter)
    assert (stored(channel), stored(other.channels.get())) == ([], VALUES)
    assert list(AsideReading.objects.order_by("stamp").values_list(*COLUMNS)) == before
    assert upload.set_aside.reason == "the labels were swapped"
    assert set(Envelope.objects.values_list("upload", flat=True)) == {new.pk}


def test_the_same_original_is_read_and_none_is_copied(take: Take, other: Instrument, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    new = read_as_of(upload, other, "swapped", consultant)
    assert (new.original.name, new.sha256, new.size) == (upload.original.name, upload.sha256, upload.size)
    assert (new.filename, new.campaign, new.uploaded_by) == (upload.filename, upload.campaign, consultant)


def test_in_another_unit(take: Take, channel: Channel, in_mg: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    new, _ = read_with(upload, in_unit(upload, "mg/m³"), "the meter was set to mg/m³", consultant)
    read(new)
    assert (stored(channel), stored(in_mg)) == ([], VALUES)
    assert (new.instrument, new.stored) == (upload.instrument, 10)


def test_day_and_month_the_other_way(campaign: Campaign, channel: Channel, meter: Instrument, consultant: User) -> None:
    """The same keys would not be free, and other stamps are: nothing of the first reading-in may stay."""
    upload = hand_in(campaign, DAYS, "days.csv", meter)
    assert read(upload).state == Job.State.ATTENTION
    day_first = layout_of_understood(upload, day_first=True)
    settle(upload, day_first, consultant)
    read(upload)
    april = Reading.objects.order_by("stamp").first()
    new, _ = read_with(upload, layout_of_understood(upload, day_first=False), "month first", consultant)
    read(new)
    march = Reading.objects.order_by("stamp").first()
    assert april is not None
    assert march is not None
    days = timedelta(milliseconds=april.stamp - march.stamp).days
    assert abs(days) in (29, 30, 31), "the 3rd of April and the 4th of March"
    assert stored(channel) == VALUES
    assert set(Reading.objects.values_list("upload", flat=True)) == {new.pk}


def layout_of_understood(upload: Upload, *, day_first: bool) -> Layout:
    understood = recall(upload)
    assert understood is not None
    assert understood.base is not None
    (question,) = understood.questions
    return answer(understood.base, question, DAY_FIRST if day_first else MONTH_FIRST)


def test_the_same_keys_with_other_values(take: Take, channel: Channel, consultant: User) -> None:
    """What the decimal sign makes another number is stored under the very keys of what was set aside."""
    text = "time;formaldehyde [ppm]\n" + "".join(f"2026-09-15 09:0{k}:00;{k + 1}.000\n" for k in range(5))
    upload, _ = take(text)
    assert stored(channel) == [1.0, 2.0, 3.0, 4.0, 5.0]
    keys = list(Reading.objects.order_by("stamp").values_list("channel_id", "stamp", "nth"))
    new, _ = read_with(upload, layout_of(upload, decimal=","), "points stand between thousands", consultant)
    read(new)
    kept = AsideReading.objects.order_by("stamp")
    assert list(kept.values_list("channel_id", "stamp", "nth")) == keys
    assert list(kept.values_list("raw", flat=True)) == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert stored(channel) != [1.0, 2.0, 3.0, 4.0, 5.0]


def test_a_layout_is_kept_for_the_next_files(take: Take, in_mg: Channel, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    new, others = read_with(upload, in_unit(upload, "mg/m³"), "set to mg/m³", consultant, keep_as="Meters in mg/m³")
    read(new)
    assert others == 0
    assert (SavedLayout.objects.get().name, new.kept_layout) == ("Meters in mg/m³", SavedLayout.objects.get())
    following, _ = take(a_log(TEN, start=WALL + timedelta(days=1)), "next.csv")
    assert following.stored == 10
    assert len(stored(in_mg)) == 20


def test_what_it_held_for_others_comes_back(take: Take, channel: Channel, other: Instrument, consultant: User) -> None:
    first, _ = take(a_log(TEN[:6]), "first.csv")
    second, _ = take(a_log(TEN), "second.csv")
    new = read_as_of(first, other, "swapped", consultant)
    read(new)
    read(second)
    assert stored(channel) == VALUES
    assert (second.stored, second.held) == (10, 0)


def test_again_and_again(take: Take, channel: Channel, other: Instrument, meter: Instrument, consultant: User) -> None:
    """A wrong answer to the way out of a wrong answer has a way out."""
    upload, _ = take(a_log(TEN))
    new = read_as_of(upload, other, "swapped", consultant)
    read(new)
    back = read_as_of(new, meter, "not swapped after all", consultant)
    read(back)
    assert (stored(channel), stored(other.channels.get())) == (VALUES, [])
    assert back.reads_anew == new
    assert [aside.count for aside in SettingAside.objects.order_by("pk")] == [10, 10]


# --- refused ----------------------------------------------------------------------------------------------------------


def test_nothing_is_set_aside_for_nothing(take: Take, channel: Channel, meter: Instrument, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    with pytest.raises(ValidationError, match="log of this instrument already"):
        read_as_of(upload, meter, "x", consultant)
    with pytest.raises(ValidationError, match="read like this already"):
        read_with(upload, layout_of(upload, name="a name is no other way"), "x", consultant)
    with pytest.raises(ValidationError):
        read_with(upload, in_unit(upload, "mg/m³"), "", consultant)
    upload.refresh_from_db()
    assert (upload.state, stored(channel)) == (Upload.State.READ, VALUES)
    assert not SettingAside.objects.exists()


def test_an_instrument_of_another_house(take: Take, stranger: User, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    theirs = make.InstrumentFactory.create(organisation=stranger.memberships.get().organisation)
    with pytest.raises(ValidationError, match="your own instruments"):
        read_as_of(upload, theirs, "x", consultant)
    assert not SettingAside.objects.exists()


def test_not_while_it_is_being_read(take: Take, other: Instrument, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    choose_instrument(upload, None, consultant)
    assert Job.take(Job.objects.get(kind="read-upload", state=Job.State.QUEUED).pk) is not None
    with pytest.raises(ValidationError, match="being read at this moment"):
        read_as_of(upload, other, "x", consultant)
    assert (Upload.objects.count(), SettingAside.objects.count()) == (1, 0)


def test_not_as_what_is_here_already(take: Take, other: Instrument, campaign: Campaign, consultant: User) -> None:
    """The same file was handed in as the other instrument's, too."""
    upload, _ = take(a_log(TEN))
    hand_in(campaign, a_log(TEN), instrument=other)
    with pytest.raises(ValidationError, match="already here"):
        read_as_of(upload, other, "x", consultant)
    upload.refresh_from_db()
    assert upload.state == Upload.State.READ


# --- killed -----------------------------------------------------------------------------------------------------------


def test_killed_before_anything_was_decided_nothing_has_changed(
    take: Take, channel: Channel, other: Instrument, consultant: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    upload, _ = take(a_log(TEN))

    def killed(*_: Any, **__: Any) -> None:
        raise MemoryError

    monkeypatch.setattr(reading_anew, "ask_to_read", killed)
    with pytest.raises(MemoryError):
        read_as_of(upload, other, "swapped", consultant)
    upload.refresh_from_db()
    assert (upload.state, Upload.objects.count(), SettingAside.objects.count()) == (Upload.State.READ, 1, 0)
    assert stored(channel) == VALUES


@pytest.mark.parametrize("step", ["move_chunk", "take_along"])
def test_killed_while_readings_are_moved_the_next_run_goes_on(
    take: Take, channel: Channel, other: Instrument, consultant: User, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    upload, _ = take(a_log(TEN))
    new = read_as_of(upload, other, "swapped", consultant)

    def killed(*_: Any) -> None:
        raise MemoryError

    with monkeypatch.context() as patch:
        patch.setattr(aside, step, killed)
        read(new)
    assert new.stored == 0, "it is not read before its keys are free"
    assert Reading.objects.count() + AsideReading.objects.count() == 10
    choose_instrument(new, None, consultant)
    assert read(new).state == Job.State.DONE
    assert (stored(channel), stored(other.channels.get())) == ([], VALUES)
    assert AsideReading.objects.count() == 10


def test_killed_while_it_is_read_the_next_run_goes_on(
    take: Take, other: Instrument, consultant: User, monkeypatch: pytest.MonkeyPatch
) -> None:
    upload, _ = take(a_log(TEN))
    new = read_as_of(upload, other, "swapped", consultant)

    def killed(*_: Any, **__: Any) -> None:
        raise MemoryError

    with monkeypatch.context() as patch:
        patch.setattr("readings.services.reading._finish", killed)
        read(new)
    choose_instrument(new, None, consultant)
    read(new)
    assert (new.stored, new.held, stored(other.channels.get())) == (10, 0, VALUES)


def test_withdrawn_before_it_was_read_the_earlier_one_is_set_aside_all_the_same(
    take: Take, channel: Channel, other: Instrument, consultant: User
) -> None:
    upload, _ = take(a_log(TEN))
    new = read_as_of(upload, other, "swapped", consultant)
    withdrawing.withdraw(new, "nor that one's", consultant)
    assert read(new).code == "withdrawn"
    run_job(Job.objects.get(kind="set-aside", subject_id=new.pk).pk)
    assert (stored(channel), stored(other.channels.get())) == ([], [])
    assert upload.set_aside.count == 10


# --- the same bytes elsewhere -----------------------------------------------------------------------------------------


def test_the_same_bytes_for_another_instrument_are_another_upload(
    take: Take, campaign: Campaign, other: Instrument, channel: Channel, consultant: User
) -> None:
    first, _ = take(a_log(TEN))
    second = hand_in(campaign, a_log(TEN), instrument=other)
    assert read(second).code == "read-for-another"
    accept(second, consultant)
    read(second)
    assert (second.stored, second.held) == (10, 0)
    assert (stored(channel), stored(other.channels.get())) == (VALUES, VALUES)
    assert first.original.name != second.original.name


def test_without_a_name_they_are_held_already(take: Take, campaign: Campaign, meter: Instrument) -> None:
    first, _ = take(a_log(TEN))
    for instrument in (None, meter):
        file = SimpleUploadedFile("again.csv", a_log(TEN).encode())
        receipt = receive(file, campaign, instrument, make.UserFactory.create())
        assert (receipt.already_held, receipt.upload) == (True, first)


def test_what_nobody_named_yet_is_held_for_every_instrument(campaign: Campaign, meter: Instrument) -> None:
    first = hand_in(campaign, a_log(TEN))
    file = SimpleUploadedFile("again.csv", a_log(TEN).encode())
    assert receive(file, campaign, meter, make.UserFactory.create()).upload == first


def test_a_serial_number_that_finds_what_is_here_already_is_told(
    campaign: Campaign, meter: Instrument, other: Instrument, channel: Channel, consultant: User
) -> None:
    """Handed in without a name and with one at the same moment: both were stored."""
    log = a_log(TEN, serial="FL-7001")
    unnamed = hand_in(campaign, log, instrument=other)
    Upload.objects.filter(pk=unnamed.pk).update(instrument=None, sha256="0" * 64)
    named = hand_in(campaign, log, instrument=meter)
    Upload.objects.filter(pk=unnamed.pk).update(sha256=named.sha256)
    read(named)
    assert read(unnamed).code == "here-already"
    assert "withdraw this one, or name another instrument" in unnamed.problems.get().message
    assert stored(channel) == VALUES
    with pytest.raises(ValidationError, match="here already"):
        choose_instrument(unnamed, meter, consultant)
    choose_instrument(unnamed, other, consultant)
    assert read(unnamed).code == "another-instrument", "the file names the serial number of the first one"
    accept(unnamed, consultant)
    assert read(unnamed).code == "read-for-another"
    accept(unnamed, consultant)
    assert read(unnamed).state == Job.State.DONE


def test_read_in_again_is_refused_where_it_was_handed_in_again(take: Take, consultant: User) -> None:
    upload, _ = take(a_log(TEN))
    withdrawing.withdraw(upload, "wrong", consultant)
    run_job(Job.objects.get(kind="set-aside").pk)
    take(a_log(TEN))
    with pytest.raises(ValidationError, match="already here"):
        read_in_again(upload, consultant)
