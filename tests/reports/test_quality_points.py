"""Which planned points count for a parameter, and which results are usable."""

from __future__ import annotations

from dataclasses import replace

import pytest

from campaigns import models as m
from methods.quality.acceptance import MEASURES
from reports.models import Result
from reports.services.quality.measured import completed
from reports.services.quality.table import points_words, quality_rows
from reports.trace.quality import NOTHING_MEASURED
from tests import factories as make
from tests.reports.measured import House, judge
from tests.reports.quality_house import at, quality_house


@pytest.fixture
def pair(site: m.Site) -> tuple[House, m.Instrument]:
    return quality_house(site)


def test_what_may_not_be_compared_or_rests_on_a_failed_meter_is_not_usable(pair: tuple[House, m.Instrument]) -> None:
    found, _ = pair
    judge(found.campaign)
    campaign = m.Campaign.objects.get(pk=found.campaign.pk)
    stays = list(campaign.deployments.select_related("instrument"))

    def counted() -> tuple[int, int]:
        (complete,) = completed(NOTHING_MEASURED, campaign, stays, ["formaldehyde"], {}).complete
        return complete.points, complete.planned_points

    assert counted() == (2, 3)
    high, low = Result.objects.order_by("pk")
    Result.objects.filter(pk=high.pk).update(evidence=Result.Evidence.FAILED)
    assert counted() == (1, 3)
    Result.objects.filter(pk=high.pk).update(evidence=Result.Evidence.ACCEPTED)
    assert counted() == (2, 3)
    Result.objects.filter(pk=low.pk).update(verdict="not_comparable")
    assert counted() == (1, 3)


def test_a_point_meant_for_something_else_is_not_counted(pair: tuple[House, m.Instrument]) -> None:
    """Carbon dioxide is logged at one point of three: two had only the other meter, so it is 1 of 1 and no failure."""
    found, _ = pair
    cellar = m.SamplingPoint.objects.get(room__zone=found.empty)
    make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=cellar, starts_at=at(6), ends_at=at(7)
    )
    other = make.InstrumentFactory(organisation=found.campaign.site.organisation, name="logger", channel=False)
    m.ChannelSpec.objects.create(
        instrument_type=other.type, parameter="co2", unit="ppm", resolution=1, range_low=0, range_high=5000
    )
    make.DeploymentFactory(campaign=found.campaign, instrument=other, point=cellar, starts_at=at(6), ends_at=at(7))
    stays = list(found.campaign.deployments.select_related("instrument"))
    gas, radon = completed(NOTHING_MEASURED, found.campaign, stays, ["co2", "radon"], {}).complete
    assert (gas.points, gas.planned_points, gas.elsewhere) == (0, 1, 2)
    assert points_words(gas) == "0 of 1 point; 2 where no instrument for it stood are not counted"
    (row,) = [
        row
        for row in quality_rows(replace(NOTHING_MEASURED, complete=(radon,)), {}, found.campaign.site.zone_info)
        if row.measure == MEASURES["points"].name
    ]
    assert (row.outcome, row.why) == ("not_assessed", "no instrument for it was placed at a planned point")
