"""What speaks against a file as a log of its instrument: it waits for a person, who may say that it is right."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from campaigns.models import Campaign, Channel, ChannelSpec, Instrument, Job, User
from readings.models import Upload
from readings.services.upload_decisions import accept, choose_instrument
from readings.services.withdrawing import withdraw
from tests import factories as make
from tests.layouts.files import say
from tests.methods.logs.corpus.truth import MINUTE
from tests.methods.logs.test_sheets import xlsx
from tests.readings.doing import TEN, WALL, a_log, hand_in, read, stored
from tests.readings.pages import Browse, at, text

VALUES = [float(value) for value in TEN]


@pytest.fixture
def other(meter: Instrument) -> Instrument:
    return make.InstrumentFactory.create(organisation=meter.organisation, name="meter O", serial="X-9")


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def test_the_serial_number_of_another_of_our_instruments_stops_the_reading(
    campaign: Campaign, meter: Instrument, other: Instrument, channel: Channel, browser: Client
) -> None:
    upload = hand_in(campaign, a_log(TEN, serial="X-9"), instrument=meter)
    job = read(upload)
    assert (job.state, job.code) == (Job.State.ATTENTION, "another-instrument")
    assert "X-9: that is meter O, not meter N" in job.message
    assert stored(channel) == []
    assert "It is right like this" in text(browser.get(at("upload", upload)))
    assert browser.post(at("upload-accept", upload)).status_code == 302
    assert read(upload).state == Job.State.DONE
    assert stored(channel) == VALUES


def test_or_the_other_one_is_chosen(
    campaign: Campaign, meter: Instrument, other: Instrument, channel: Channel, consultant: User
) -> None:
    upload = hand_in(campaign, a_log(TEN, serial="X-9"), instrument=meter)
    read(upload)
    choose_instrument(upload, other, consultant)
    assert read(upload).state == Job.State.DONE
    assert (stored(channel), stored(other.channels.get())) == ([], VALUES)


@pytest.mark.parametrize("serial", ["FL-7001", "somebody-elses-1", ""])
def test_its_own_a_strangers_and_none_are_no_doubt(
    campaign: Campaign, meter: Instrument, other: Instrument, serial: str
) -> None:
    assert read(hand_in(campaign, a_log(TEN, serial=serial), instrument=meter)).state == Job.State.DONE


def test_values_that_the_channel_cannot_show(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    ChannelSpec.objects.filter(pk=channel.spec_id).update(range_high=0.03)
    few, most = [0.02, 0.021, 0.5, 0.022], [0.2, 0.21, 0.5, 0.022]
    assert read(hand_in(campaign, a_log(few), "few.csv", meter)).state == Job.State.DONE
    job = read(hand_in(campaign, a_log(most), "most.csv", meter))
    assert (job.state, job.code) == (Job.State.ATTENTION, "out-of-range")
    assert "above 0.03 ppm, the most that meter N can show: 0.2, 0.21, 0.5" in job.message
    assert len(stored(channel)) == len(few)


def test_an_export_that_contradicts_what_is_held(
    campaign: Campaign, meter: Instrument, channel: Channel, consultant: User
) -> None:
    """The same times with other values: somebody else's memory, or another unit."""
    read(hand_in(campaign, a_log(TEN), "first.csv", meter))
    others = [f"{float(value) + 0.2:.3f}" for value in TEN]
    upload = hand_in(campaign, a_log([*others, "0.5"]), "second.csv", meter)
    job = read(upload)
    assert (job.state, job.code) == (Job.State.ATTENTION, "mostly-clashing")
    assert "10 of its first readings differ" in job.message
    assert stored(channel) == VALUES, "not even the one that is new"
    accept(upload, consultant)
    read(upload)
    assert stored(channel) == [*VALUES, 0.5]


def test_a_few_that_differ_are_problems_of_their_lines(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    read(hand_in(campaign, a_log(TEN), "first.csv", meter))
    assert read(hand_in(campaign, a_log(["0.9", *TEN[1:]]), "second.csv", meter)).state == Job.State.DONE
    assert stored(channel) == VALUES


def test_a_file_of_which_a_column_was_left_out_is_done_when_somebody_said_so(
    campaign: Campaign, meter: Instrument, channel: Channel, consultant: User
) -> None:
    log = "time,formaldehyde [ppm],CO2 [ppm]\n2026-09-15 09:00:00,0.031,512\n2026-09-15 09:00:10,0.032,515\n"
    upload = hand_in(campaign, log, instrument=meter)
    assert read(upload).code == "no-channel"
    assert len(stored(channel)) == 2, "what has a channel counts meanwhile"
    accept(upload, consultant)
    assert (read(upload).state, upload.state) == (Job.State.DONE, Upload.State.READ)
    assert len(stored(channel)) == 2
    with pytest.raises(ValidationError, match="nothing to say"):
        accept(upload, consultant)


def test_a_file_most_of_whose_lines_are_bad_is_not_done(campaign: Campaign, meter: Instrument) -> None:
    """Its beginning is as good as any."""
    log = a_log(["0.031"] * 450 + ["broken"] * 900)
    upload = hand_in(campaign, log, instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    assert "900 of 1,350 lines could not be read" in upload.problems.get(code="most_bad").message


def test_a_file_most_of_which_was_left_out_is_not_done(campaign: Campaign, meter: Instrument, consultant: User) -> None:
    """A second head with another unit ends the reading."""
    few, many = a_log(TEN), a_log(["3"] * 60).replace("ppm", "ppb")
    upload = hand_in(campaign, few + many, instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    assert "lines were left out, from line" in upload.problems.get(code="most_left_out").message
    accept(upload, consultant)
    assert read(upload).state == Job.State.DONE


def test_a_colleague_of_another_house_finds_nothing_to_say(
    campaign: Campaign, meter: Instrument, other: Instrument, browse: Browse, stranger: User
) -> None:
    upload = hand_in(campaign, a_log(TEN, serial="X-9"), instrument=meter)
    read(upload)
    assert browse(stranger).post(at("upload-accept", upload)).status_code == 404
    upload.refresh_from_db()
    assert upload.accepted == []


def test_a_column_of_formulas_is_looked_at(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    """Three columns, so that most lines are not bad: the other readings are stored, the file is not simply done."""
    rows = [[WALL + n * MINUTE, "=C2", 0.031] for n in range(9)]
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="co2", unit="ppm", range_high=5000)
    upload = hand_in(campaign, xlsx(("Log", [["Time", "CO2 (ppm)", "HCHO (ppm)"], *rows], False)), "log.xlsx", meter)
    assert read(upload).state == Job.State.ATTENTION
    assert {problem.code for problem in upload.problems.filter(line=0)} >= {"formulas"}
    assert stored(channel) == [0.031] * 9


class TestReadForAnother:
    """The wrong meter was chosen first, or the right one: nothing counts twice without a word."""

    ROOMS = "time,room,formaldehyde [ppm]\n" + "".join(
        f"2026-09-15 09:{n:02}:00,{'east' if n % 2 else 'west'},0.03{n}\n" for n in range(10)
    )

    def test_it_is_asked(self, campaign: Campaign, meter: Instrument, other: Instrument) -> None:
        read(hand_in(campaign, a_log(TEN), instrument=other))
        upload = hand_in(campaign, a_log(TEN), instrument=meter)
        assert read(upload).code == "read-for-another"
        assert upload.problems.get().value == str(other)
        assert upload.stored == 0

    def test_each_its_own_lines(
        self, campaign: Campaign, meter: Instrument, other: Instrument, browser: Client
    ) -> None:
        for instrument, source in ((meter, "0"), (other, "1")):
            upload = hand_in(campaign, self.ROOMS, instrument=instrument)
            read(upload)
            say(browser, upload, sources_1=source)
            assert read(upload).state == Job.State.DONE

    def test_what_was_withdrawn_is_no_doubt(
        self, campaign: Campaign, meter: Instrument, other: Instrument, consultant: User
    ) -> None:
        first = hand_in(campaign, a_log(TEN), instrument=other)
        read(first)
        withdraw(first, "the wrong meter", consultant)
        assert read(hand_in(campaign, a_log(TEN), instrument=meter)).state == Job.State.DONE
