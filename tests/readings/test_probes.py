"""An instrument with two probes of one parameter: each has its channel, and its columns are told apart."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client

from campaigns.models import Campaign, Instrument, Job, User
from readings.models import Upload
from tests import factories as make
from tests.layouts.files import a_log, say
from tests.readings.doing import hand_in, read, stored, told
from tests.readings.pages import Browse


@pytest.fixture
def meter(meter: Instrument) -> Instrument:
    for probe in ("left", "right"):
        make.ChannelSpecFactory.create(
            instrument_type=meter.type, parameter="temperature", unit="°C", range_high=60, probe=probe
        )
    return meter


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def log(*names: str) -> str:
    cells = (",".join(f"2{at}.{k}" for at in range(len(names))) for k in range(5))
    rows = (f"2026-09-15 09:0{k},0.03{k},{row}" for k, row in enumerate(cells))
    return a_log(*rows, head=f"time,HCHO (ppm),{','.join(names)}")


def by_probe(meter: Instrument) -> dict[str, Any]:
    channels = meter.channels.filter(spec__parameter="temperature").select_related("spec")
    return {channel.spec.probe: list(stored(channel)) for channel in channels}


LOWER, UPPER = [20.0, 20.1, 20.2, 20.3, 20.4], [21.0, 21.1, 21.2, 21.3, 21.4]


@pytest.mark.parametrize("names", [("Temp left (°C)", "Temp right (°C)"), ("Left: Temp [°C]", "Temperature_right °C")])
def test_names_tell(campaign: Campaign, meter: Instrument, names: tuple[str, str]) -> None:
    assert read(hand_in(campaign, log(*names), instrument=meter)).state == Job.State.DONE
    assert by_probe(meter) == {"left": LOWER, "right": UPPER}


def test_where_they_do_not_each_column_is_asked_about(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, log("Temp 1 (°C)", "Temp 2 (°C)"), instrument=meter)
    read(upload)
    assert [code for *_, code in told(upload)] == ["probe", "probe"]
    say(browser, upload, probe_2="right", probe_3="left")
    assert read(upload).state == Job.State.DONE
    assert by_probe(meter) == {"left": UPPER, "right": LOWER}


def test_one_probe_has_one_column(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, log("Temp 1 (°C)", "Temp 2 (°C)"), instrument=meter)
    read(upload)
    assert say(browser, upload, probe_2="right", probe_3="right").status_code == 422
    say(browser, upload, probe_2="right", probe_3="ignore")
    assert read(upload).state == Job.State.DONE
    assert by_probe(meter) == {"left": [], "right": LOWER}


def test_what_is_kept_holds_for_the_next_file(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    first = hand_in(campaign, log("Temp 1 (°C)", "Temp 2 (°C)"), instrument=meter)
    read(first)
    say(browser, first, probe_2="right", probe_3="left", keep="on", name="two probes")
    read(first)
    later = log("Temp 1 (°C)", "Temp 2 (°C)").replace("2026-09-15", "2026-09-16")
    second: Upload = hand_in(campaign, later, "second.csv", meter)
    assert read(second).state == Job.State.DONE
    assert by_probe(meter) == {"left": UPPER * 2, "right": LOWER * 2}


def test_a_lone_column_may_be_of_either(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, log("Temp (°C)"), instrument=meter)
    assert read(upload).code == "probe"


def test_the_one_without_a_name_takes_the_column_without_one(campaign: Campaign, meter: Instrument) -> None:
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", unit="°C", range_high=60)
    upload = hand_in(campaign, log("Temp left (°C)", "Temp right (°C)", "Temp (°C)"), instrument=meter)
    assert read(upload).state == Job.State.DONE
    assert by_probe(meter)[""] == [22.0, 22.1, 22.2, 22.3, 22.4]


def test_two_channels_of_one_kind_need_names(meter: Instrument) -> None:
    twin = meter.type.channel_specs.get(probe="left")
    twin.pk, twin._state.adding = None, True
    with pytest.raises(ValidationError, match="name them"):
        twin.full_clean()


def test_columns_that_a_person_names_are_given_to_probes_then(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = hand_in(campaign, log("Fühler links °C", "Fühler rechts °C"), instrument=meter)
    read(upload)
    both = {"column-2": "temperature", "unit-2": "°C", "column-3": "temperature", "unit-3": "°C"}
    look = say(browser, upload, both, do="look").context["look"]
    assert {"probe-2", "probe-3"} <= look.on_top
    assert say(browser, upload, both, probe_2="left").status_code == 422
    assert say(browser, upload, both, probe_2="left", probe_3="right").status_code == 302
    read(upload)
    assert by_probe(meter) == {"left": LOWER, "right": UPPER}


def test_both_of_one_probe_is_said_to_be_so(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, log("Temp 1 (°C)", "Temp 2 (°C)"), instrument=meter)
    read(upload)
    look = say(browser, upload, do="look").context["look"]
    assert [code for code, _ in look.missing] == [q.message for q in look.form.of_probes]
    look = say(browser, upload, do="look", probe_2="right", probe_3="right").context["look"]
    assert [words.split(":")[0] for words, _ in look.missing] == ["Two columns are said to be of the same probe"]
