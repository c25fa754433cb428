"""The same memory exported once in local time and once in UTC: recognised before anything is stored twice."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from campaigns.models import Campaign, Channel, Instrument, Job
from readings.models import Upload
from readings.queries import placed_in, rows
from readings.services.receive import ask_to_read
from tests import factories as make
from tests.readings.doing import EVER, WALL, Read, a_log, hand_in, read

HOUR = timedelta(hours=1)
VALUES = [f"{v:.3f}" for v in 0.02 + np.round(np.cumsum(np.random.default_rng(4).normal(0, 0.0008, 120)), 3)]


def local() -> str:
    return a_log(VALUES, every_s=60)


def in_utc() -> str:
    return a_log(VALUES, every_s=60, start=WALL - HOUR, form="%Y-%m-%dT%H:%M:%SZ")


def without_saying() -> str:
    """Written in UTC, and the file does not say so."""
    return a_log(VALUES, every_s=60, start=WALL - HOUR)


def both(campaign: Campaign, meter: Instrument, first: str, second: str) -> Read:
    read(hand_in(campaign, first, "office.csv", meter))
    upload = hand_in(campaign, second, "van.csv", meter)
    return upload, read(upload)


@pytest.mark.parametrize("first", [local, in_utc])
def test_the_second_export_is_not_stored(
    campaign: Campaign, meter: Instrument, channel: Channel, first: object
) -> None:
    other = in_utc if first is local else local
    upload, job = both(campaign, meter, first(), other())  # type: ignore[operator]
    assert (job.state, job.code, upload.state) == ("attention", "same-memory", Upload.State.ATTENTION)
    way = "earlier" if first is local else "later"
    assert job.message.startswith(f"This looks like the same memory as “office.csv”, written 1 h {way}: ")
    assert "in UTC, as it says itself" in job.message
    assert "on the clock of the instrument" in job.message
    assert (upload.stored, upload.held) == (0, 0)
    assert len(rows(channel.pk, *EVER)) == len(VALUES)


def test_also_where_no_file_says_its_clock(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    """Before, half of it was stored an hour off and the other half clashed."""
    _, job = both(campaign, meter, local(), without_saying())
    assert job.code == "same-memory"
    assert "Perhaps one was exported in local time" in job.message
    assert len(rows(channel.pk, *EVER)) == len(VALUES)


def test_a_person_says_it_is_the_same(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    upload, _ = both(campaign, meter, local(), in_utc())
    upload.twin = Upload.Twin.SAME
    upload.save()
    ask_to_read(upload, None)
    assert read(upload).state == Job.State.DONE
    assert (upload.state, upload.stored) == (Upload.State.READ, 0)
    assert "left out, as decided" in upload.problems.get().message
    assert len(rows(channel.pk, *EVER)) == len(VALUES)


def test_a_person_says_it_is_another(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    upload, _ = both(campaign, meter, local(), in_utc())
    upload.twin = Upload.Twin.APART
    upload.save()
    ask_to_read(upload, None)
    read(upload)
    assert upload.state == Upload.State.READ
    assert len(rows(channel.pk, *EVER)) > len(VALUES)


def test_another_log_is_stored(campaign: Campaign, meter: Instrument, channel: Channel) -> None:
    others = [f"{float(v) + 0.001 * (k % 3):.3f}" for k, v in enumerate(VALUES)]
    _, job = both(campaign, meter, local(), a_log(others, every_s=60, start=WALL + 3 * HOUR))
    assert job.state == Job.State.DONE
    assert len(rows(channel.pk, *EVER)) == 2 * len(VALUES)


def test_a_file_that_states_its_offset_is_placed_by_it(campaign: Campaign, meter: Instrument) -> None:
    """Stamps with Z and with +02:00 on a meter on Lisbon time: the same moments, and the clock check speaks of what
    the meter itself showed."""
    make.DeploymentFactory.create(campaign=campaign, instrument=meter)
    read(
        hand_in(
            campaign, a_log(VALUES, every_s=60, start=WALL + HOUR, form="%Y-%m-%dT%H:%M:%S+02:00"), instrument=meter
        )
    )
    (placed,) = placed_in(campaign)
    assert int(placed.utc_ms[0]) == int(make.START.timestamp() * 1000)
