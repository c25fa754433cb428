"""An instrument that logs at one interval on one visit and at another on the next, in one campaign."""

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Campaign, Instrument
from methods.quantities.flags import Flag
from readings.queries import Placed, placed_in
from readings.queries.logged_series import logged
from tests import factories as make
from tests.readings.doing import WALL, a_log, hand_in, read

DAY, HOUR = timedelta(days=1), timedelta(hours=1)


def visits(campaign: Campaign, meter: Instrument) -> None:
    """Two of two hours, a day apart."""
    for start in (make.START, make.START + DAY):
        make.DeploymentFactory.create(campaign=campaign, instrument=meter, starts_at=start, ends_at=start + 2 * HOUR)


def warming(placed: Placed) -> list[int]:
    return [int(raw) for raw, flag in zip(placed.raw, placed.flags, strict=True) if flag & Flag.WARMING_UP]


@pytest.mark.parametrize("in_one_file", [True, False])
def test_each_visit_is_derived_by_its_own(campaign: Campaign, meter: Instrument, in_one_file: bool) -> None:
    """Ten seconds for two hours; the next day ten minutes. A minute of warm-up: six readings, and one of them."""
    visits(campaign, meter)
    fine, coarse = a_log(k % 20 for k in range(720)), a_log(range(12), start=WALL + DAY, every_s=600)
    logs = [fine + coarse.partition("\n")[2]] if in_one_file else [fine, coarse]
    for log in logs:
        read(hand_in(campaign, log, f"{len(log)}.csv", meter))
    first, second = placed_in(campaign)
    assert (first.interval_ms, warming(first)) == (10_000, [0, 1, 2, 3, 4, 5])
    assert (second.interval_ms, warming(second)) == (600_000, [0])


def test_a_coarse_mean_belongs_where_more_than_half_of_its_own_interval_lies(
    campaign: Campaign, meter: Instrument
) -> None:
    """Stamped at their ends: the one at 08:04 has 6 of its 10 min before the visit, that at 10:04 has 6 inside."""
    meter.type.represents = "end"
    meter.type.save()
    visits(campaign, meter)
    read(hand_in(campaign, a_log(k % 20 for k in range(720)), "fine.csv", meter))
    begin = WALL + DAY + timedelta(minutes=4)
    read(hand_in(campaign, a_log(range(14), start=begin, every_s=600), "coarse.csv", meter))
    _, second = placed_in(campaign)
    assert second.raw.tolist() == list(range(1, 13))
    channel = meter.channels.select_related("instrument__type", "spec").get()
    within = logged(channel, campaign, campaign.deployments.all()).within([second.deployment])
    assert (within == 0).sum() == 12


def test_single_readings_far_apart_are_no_interval(campaign: Campaign, meter: Instrument) -> None:
    """The meter was switched on for each of them: all of them are of a meter that has just warmed up."""
    visits(campaign, meter)
    read(hand_in(campaign, a_log(k % 20 for k in range(720)), "fine.csv", meter))
    read(hand_in(campaign, a_log(range(4), start=WALL + DAY, every_s=1800), "single.csv", meter))
    _, second = placed_in(campaign)
    assert warming(second) == [0, 1, 2, 3]
