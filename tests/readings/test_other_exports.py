"""The same memory exported once with and once without seconds, or in two units: each reading is held once."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from campaigns.models import Campaign, Channel, Instrument, Job
from campaigns.tasks import run_job
from readings.models import Upload
from readings.queries import rows
from readings.services.receive import ask_to_read
from readings.services.withdrawing import withdraw
from tests import factories as make
from tests.readings.doing import EVER, WALL, a_log, hand_in, read, stored

SECONDS, MINUTES = "%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M"
START = WALL + timedelta(seconds=47)
VALUES = [f"{v:.3f}" for v in 0.05 + np.round(np.cumsum(np.random.default_rng(4).normal(0, 0.0012, 240)), 3)]


def export(form: str, values: list[str] = VALUES, every_s: int = 60, first: int = 0, **more: str) -> str:
    return a_log(values[first:], start=START + first * timedelta(seconds=every_s), every_s=every_s, form=form, **more)


def rounded(every_s: int) -> str:
    return a_log(VALUES, start=START + timedelta(seconds=30), every_s=every_s, form=MINUTES)


def seconds_held(channel: Channel) -> set[int]:
    return set((rows(channel.pk, *EVER)["stamp"] // 1000 % 60).tolist())


@pytest.mark.parametrize("every_s", [7, 20, 60])
@pytest.mark.parametrize("way", ["cut", "rounded"])
def test_without_seconds_after_with(
    campaign: Campaign, meter: Instrument, channel: Channel, every_s: int, way: str
) -> None:
    read(hand_in(campaign, export(SECONDS, every_s=every_s), "fine.csv", meter))
    second = hand_in(campaign, export(MINUTES, every_s=every_s) if way == "cut" else rounded(every_s), "b.csv", meter)
    job = read(second)
    assert (job.state, second.state, second.stored, second.held) == (Job.State.DONE, Upload.State.READ, 0, len(VALUES))
    assert stored(channel) == [float(value) for value in VALUES]
    told = second.problems.get(code="same-minutes")
    assert told.message.startswith("This file holds the memory of “fine.csv” without its seconds: 240 of its readings")


@pytest.mark.parametrize("every_s", [20, 60])
def test_with_seconds_after_without(campaign: Campaign, meter: Instrument, channel: Channel, every_s: int) -> None:
    coarse = hand_in(campaign, export(MINUTES, every_s=every_s), "coarse.csv", meter)
    read(coarse)
    assert seconds_held(channel) == {0}
    fine = hand_in(campaign, export(SECONDS, every_s=every_s), "fine.csv", meter)
    read(fine)
    assert "“coarse.csv” holds the same memory" in fine.problems.get(code="same-minutes").message
    anew = Upload.objects.get(reads_anew=coarse)
    read(anew)
    coarse.refresh_from_db()
    assert (coarse.state, anew.state, anew.stored, anew.held) == ("withdrawn", "read", 0, len(VALUES))
    assert coarse.set_aside.reason == "Its readings are held with their seconds from “fine.csv”."
    assert stored(channel) == [float(value) for value in VALUES]
    assert 0 not in seconds_held(channel) if every_s == 60 else seconds_held(channel) == {7, 27, 47}


def test_what_only_one_of_them_holds_counts(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    coarse = hand_in(campaign, export(MINUTES), "coarse.csv", meter)
    read(coarse)
    read(hand_in(campaign, export(SECONDS, first=100), "fine.csv", meter))
    read(Upload.objects.get(reads_anew=coarse))
    assert stored(channel) == [float(value) for value in VALUES]
    assert np.count_nonzero(rows(channel.pk, *EVER)["stamp"] % 60_000 == 0) == 100


def test_the_coarse_ones_count_again_when_the_fine_file_is_withdrawn(
    campaign: Campaign, meter: Instrument, channel: Channel
) -> None:
    fine = hand_in(campaign, export(SECONDS), "fine.csv", meter)
    read(fine)
    second = hand_in(campaign, export(MINUTES), "coarse.csv", meter)
    read(second)
    withdraw(fine, "the clock was wrong", make.UserFactory.create())
    run_aside(fine)
    read(second)
    assert (second.stored, seconds_held(channel), len(stored(channel))) == (len(VALUES), {0}, len(VALUES))


def run_aside(upload: Upload) -> None:
    run_job(Job.objects.get(kind="set-aside", subject_id=upload.pk).pk)


def test_a_minute_with_another_value_is_left_out_and_named(
    campaign: Campaign, meter: Instrument, channel: Channel
) -> None:
    read(hand_in(campaign, export(SECONDS), "fine.csv", meter))
    other = [*VALUES[:50], "0.777", *VALUES[51:]]
    second = hand_in(campaign, export(MINUTES, other), "coarse.csv", meter)
    read(second)
    assert (second.stored, second.held) == (0, len(VALUES) - 1)
    assert (second.problems.get(code="held-apart").line, 0.777 in stored(channel)) == (52, False)


def test_another_memory_of_the_same_minutes_is_none(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    read(hand_in(campaign, export(SECONDS), "fine.csv", meter))
    second = hand_in(campaign, export(MINUTES, VALUES[::-1]), "other.csv", meter)
    read(second)
    assert second.stored == len(VALUES)


# --- another unit -----------------------------------------------------------------------------------------------------

IN_MG = [f"{float(value) * 1.2482:.3f}" for value in VALUES]  # 30.026 g/mol over 24.055 L/mol, at 20 °C


def in_mg(meter: Instrument) -> None:
    """The meter was switched to mg/m³, and its type has a channel for that."""
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="formaldehyde", unit="mg/m³")


def test_an_export_in_another_unit_waits_for_a_person(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    in_mg(meter)
    read(hand_in(campaign, export(SECONDS), "ppm.csv", meter))
    second = hand_in(campaign, export(SECONDS, IN_MG, head="time,formaldehyde [mg/m³]"), "mg.csv", meter)
    job = read(second)
    assert (job.state, job.code, second.stored) == ("attention", "same-memory", 0)
    assert "240 of 240 values are 1.248 times those under the same times, as ppm becomes mg/m³ at 20 °C" in job.message
    second.twin = Upload.Twin.SAME
    second.save()
    ask_to_read(second, None)
    assert (read(second).state, second.stored) == (Job.State.DONE, 0)
    assert len(stored(channel)) == len(VALUES)


def test_a_person_says_it_is_another_memory(campaign: Campaign, meter: Instrument) -> None:
    in_mg(meter)
    read(hand_in(campaign, export(SECONDS), "ppm.csv", meter))
    second = hand_in(campaign, export(SECONDS, IN_MG, head="time,formaldehyde [mg/m³]"), "mg.csv", meter)
    read(second)
    second.twin = Upload.Twin.APART
    second.save()
    ask_to_read(second, None)
    read(second)
    assert second.stored == len(VALUES)


def test_another_unit_under_the_same_name_is_told_too(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    read(hand_in(campaign, export(SECONDS), "ppm.csv", meter))
    second = hand_in(campaign, export(SECONDS, IN_MG), "wrong.csv", meter)
    assert read(second).code == "same-memory"
    assert len(stored(channel)) == len(VALUES)


def test_files_that_hold_both_units_go_on(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    """A second download with both columns is no other unit of the first."""
    in_mg(meter)
    both = [f"{ppm},{mg}" for ppm, mg in zip(VALUES, IN_MG, strict=True)]
    head = "time,formaldehyde [ppm],formaldehyde [mg/m³]"
    read(hand_in(campaign, export(SECONDS, both[:200], head=head), "one.csv", meter))
    second = hand_in(campaign, export(SECONDS, both, head=head), "two.csv", meter)
    assert read(second).state == Job.State.DONE
    assert len(stored(channel)) == len(VALUES)
