"""A file of many columns for a meter of three: what the meter has no channel for is nobody's question."""

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Campaign, Instrument, Job
from readings.services.upload_decisions import choose_instrument
from tests import factories as make
from tests.readings.doing import WALL, hand_in, read, stored, told

NAMES = ("formaldehyde [ppm]", "CO2 [ppm]", "temperature [°C]")
OTHERS = 195


def wide(names: tuple[str, ...] = NAMES) -> str:
    head = ["time", *names, *(f"register {n}" for n in range(OTHERS))]
    rows = [
        [f"{WALL + timedelta(minutes=n):%Y-%m-%d %H:%M:%S}", f"0.03{n}", f"61{n}", f"21.{n}", *[str(n)] * OTHERS]
        for n in range(10)
    ]
    return "\n".join(",".join(line) for line in (head, *rows)) + "\n"


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


def test_a_channel_without_its_column_may_be_any_of_them(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, wide(("formaldehyde [ppm]", "CO2 [ppm]", "sensor T")), instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    assert "parameter" in {code for *_, code in told(upload)}


def test_before_the_instrument_is_known_all_are_asked_about(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, wide())
    assert read(upload).state == Job.State.ATTENTION
    choose_instrument(upload, meter, make.UserFactory.create())
    assert read(upload).state == Job.State.DONE
