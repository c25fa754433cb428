"""A file of many columns for a meter of three: what the meter has no channel for is nobody's question."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job, User
from readings.models import Upload
from readings.services.understanding import recall
from readings.services.upload_decisions import choose_instrument
from tests import factories as make
from tests.layouts.files import say
from tests.layouts.files import stored as values_of
from tests.readings.doing import WALL, hand_in, read, stored, told
from tests.readings.pages import Browse

NAMES = ("formaldehyde [ppm]", "CO2 [ppm]", "temperature [°C]")
OTHERS = 195
#: The control of the question which column is the temperature's.
NAMED = "channel-temperature-c"


def wide(names: tuple[str, ...] = NAMES) -> str:
    head = ["time", *names, *(f"register {n}" for n in range(OTHERS))]
    rows = [
        [f"{WALL + timedelta(minutes=n):%Y-%m-%d %H:%M:%S}", f"0.03{n}", f"61{n}", f"21.{n}", *[str(n)] * OTHERS]
        for n in range(10)
    ]
    return "\n".join(",".join(line) for line in (head, *rows)) + "\n"


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def meter(meter: Instrument) -> Instrument:
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="co2", unit="ppm", range_high=5000)
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", unit="°C", range_high=60)
    return meter


def test_of_199_columns_nothing_is_asked(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, wide(), instrument=meter)
    assert read(upload).state == Job.State.DONE
    kept = {channel.spec.parameter: stored(channel) for channel in meter.channels.select_related("spec")}
    assert {parameter: len(values) for parameter, values in kept.items()} == {
        "formaldehyde": 10, "co2": 10, "temperature": 10,
    }  # fmt: skip
    assert kept["co2"][3] == 613


@pytest.fixture
def unnamed(campaign: Campaign, meter: Instrument) -> Upload:
    """The temperature is a register like 195 others."""
    upload = hand_in(campaign, wide(("formaldehyde [ppm]", "CO2 [ppm]", "register T")), instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    return upload


def test_a_channel_without_its_column_may_be_any_of_them(unnamed: Upload) -> None:
    assert [code for *_, code in told(unnamed)] == ["channel"]
    asked = recall(unnamed)
    assert asked is not None
    assert asked.questions[0].choices[0] == ("3 temperature °C", "register T: 21.0, 21.1, 21.2")
    assert len(asked.questions[0].choices) == 1 + OTHERS + 1


def test_the_column_is_named_and_the_others_are_left_out(unnamed: Upload, browser: Client) -> None:
    say(browser, unnamed, {NAMED: "3 temperature °C"})
    assert read(unnamed).state == Job.State.DONE
    assert [kind for _, kind, *_ in values_of(unnamed)][:3] == ["co2", "formaldehyde", "temperature"]
    assert len(values_of(unnamed)) == 30


def test_none_of_them(unnamed: Upload, browser: Client) -> None:
    say(browser, unnamed, {NAMED: "none"})
    read(unnamed)
    assert len(values_of(unnamed)) == 20


def test_few_columns_are_asked_about_one_by_one(campaign: Campaign, meter: Instrument) -> None:
    few = "\n".join(",".join(line.split(",")[:5]) for line in wide(("HCHO [ppm]", "CO2 [ppm]", "T")).splitlines())
    upload = hand_in(campaign, few, instrument=meter)
    read(upload)
    assert {code for *_, code in told(upload)} == {"parameter", "unit"}


def test_before_the_instrument_is_known_all_are_asked_about(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, wide())
    assert read(upload).state == Job.State.ATTENTION
    choose_instrument(upload, meter, make.UserFactory.create())
    assert read(upload).state == Job.State.DONE
