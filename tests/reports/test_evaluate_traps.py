"""The three traps, through the whole evaluation: a year's mean from a day, a quarter of an hour from nine-minute
logging, and a limit finer than the instrument's step. Each ends without a number that claims more than it can."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

import numpy as np
import pytest

from campaigns import models as m
from campaigns.models import Criterion, Limit
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.models import Finding, Result
from tests import factories as make
from tests.reports.measured import House, house, judge


def visit(found: House, *, hour: int, minutes: int, every: int, level: float) -> m.Deployment:
    """A stay in the zone that was not measured yet, logged every ``every`` minutes."""
    start: datetime = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, starts_at=start,
        point=make.PointFactory(room=found.empty.rooms.get(), name="stay"), ends_at=start + timedelta(minutes=minutes),
    )  # fmt: skip
    upload = Upload.objects.create(
        campaign=found.campaign, instrument=found.instrument, filename="stay.csv", size=1, sha256="ab" * 32
    )
    n = minutes // every
    stamp = utc_ms(start) + every * 60_000 * np.arange(1, n + 1, dtype=np.int64)
    zeros = np.zeros(n, dtype=np.int64)
    write([Batch(found.channel.pk, upload.pk, stamp, zeros, np.full(n, level), zeros, np.arange(1, n + 1))])
    judge(found.campaign)
    return deployment


def words(result: Result) -> str:
    return " ".join(reason.words for reason in result.stated_reasons)


def test_a_years_mean_is_not_judged_from_a_day(site: m.Site) -> None:
    found = house(site, limits=("HCHO-ATSDR-C",))
    deployment = visit(found, hour=6, minutes=24 * 60, every=1, level=0.05)
    result = Result.objects.get(deployment=deployment)
    assert (result.verdict, result.p_above) == ("not_comparable", None)
    assert "hours of readings say nothing about it." in words(result)
    assert "not comparable" in Finding.objects.get(zone=found.empty).statement


def test_a_quarter_of_an_hour_is_not_judged_from_nine_minute_logging(site: m.Site) -> None:
    found = house(site, limits=("HCHO-OSHA-STEL",))
    found.instrument = make.InstrumentFactory(  # one that never logged otherwise
        organisation=site.organisation, name="meter B", serial="TST-0002", clock_basis="utc"
    )
    deployment = visit(found, hour=8, minutes=180, every=9, level=0.5)
    result = Result.objects.get(deployment=deployment)
    assert (result.verdict, result.p_above) == ("not_comparable", None)
    assert "9 min logging for a mean over 15 min: fewer than three readings make no mean." in words(result)


@pytest.mark.parametrize("level", [0.0, 0.01])
def test_a_limit_finer_than_the_step_is_left_undecided(site: m.Site, level: float) -> None:
    """0.008 ppm with a meter that shows 0.00, 0.01, 0.02: neither reading decides, and what would is said."""
    found = house(site)
    found.instrument.type.channel_specs.update(resolution=0.01, detection_limit=0.01, u_zero=0.003)
    own = Limit.objects.create(
        organisation=site.organisation, code="OWN-8", body="Client", document="Specification", parameter="formaldehyde",
        value=Decimal("0.008"), unit="ppm", averaging="rolling_mean", averaging_minutes=60,
    )  # fmt: skip
    Criterion.objects.create(campaign=found.campaign, limit=own, position=1)
    deployment = visit(found, hour=6, minutes=120, every=1, level=level)
    result = Result.objects.get(deployment=deployment, criterion__limit=own)
    assert result.verdict == "undecided"
    assert "reaches across the limit" in words(result)
    assert result.traced.advice
