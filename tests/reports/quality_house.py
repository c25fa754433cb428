"""A judged house with two meters, runs of both, and duplicates: for tests of quality control."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np

from campaigns import models as m
from campaigns.models import QualityRun
from campaigns.services import quality_runs
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from tests import factories as make
from tests.reports.measured import House, house, judge

MINUTE, HOUR = timedelta(minutes=1), timedelta(hours=1)
#: Hours after the start of the tests' world at which nothing else happens.
BESIDE_AT, ZERO_AT, DUPLICATE_AT = 8, 10, 12


def second_meter(found: House) -> m.Instrument:
    return make.InstrumentFactory(
        organisation=found.campaign.site.organisation, type=found.instrument.type, name="meter B", serial="TST-0002",
        clock_basis="utc", channel=False,
    )  # fmt: skip


def log(found: House, instrument: m.Instrument, start: datetime, raw: np.ndarray) -> None:
    """A reading a minute from a minute after the start."""
    upload = Upload.objects.create(
        campaign=found.campaign, instrument=instrument, filename=f"{instrument} {start:%H%M}.csv", size=1,
        sha256=f"{Upload.objects.count():064x}", state=Upload.State.READ,
    )  # fmt: skip
    n = len(raw)
    stamp = utc_ms(start) + 60_000 * np.arange(1, n + 1, dtype=np.int64)
    zeros = np.zeros(n, dtype=np.int64)
    channel = instrument.channels.get(spec__parameter="formaldehyde")
    write([Batch(channel.pk, upload.pk, stamp, zeros, np.asarray(raw, float), zeros, np.arange(1, n + 1))])


def at(hours: float) -> datetime:
    return make.START + hours * HOUR


def beside(found: House, other: m.Instrument, shift: float, *, n: int = 30, hours: float = BESIDE_AT) -> QualityRun:
    """Both in air of 0.1 ppm with noise of 0.002; the other shows ``shift`` more."""
    rng = np.random.default_rng(21)
    for instrument, more in ((found.instrument, 0.0), (other, shift)):
        log(found, instrument, at(hours), np.round(0.1 + more + 0.002 * rng.standard_normal(n), 4))
    return quality_runs.make(
        found.campaign, [found.instrument, other], kind=QualityRun.Kind.SIDE_BY_SIDE, starts_at=at(hours),
        ends_at=at(hours) + (n + 1) * MINUTE, place="the van",
    )  # fmt: skip


def zero(found: House, instrument: m.Instrument, raw: np.ndarray, hours: float = ZERO_AT) -> QualityRun:
    log(found, instrument, at(hours), raw)
    return quality_runs.make(
        found.campaign, [instrument], kind=QualityRun.Kind.ZERO, starts_at=at(hours),
        ends_at=at(hours) + (len(raw) + 1) * MINUTE,
    )  # fmt: skip


def duplicate(found: House, other: m.Instrument, first: float, second: float, hours: float = DUPLICATE_AT) -> None:
    """Both for an hour at the point of the first zone."""
    point = m.SamplingPoint.objects.get(room__zone=found.high)
    for instrument, level in ((found.instrument, first), (other, second)):
        make.DeploymentFactory(
            campaign=found.campaign, instrument=instrument, point=point, starts_at=at(hours), ends_at=at(hours + 1)
        )
        log(found, instrument, at(hours), np.full(59, level))


def quality_house(site: m.Site) -> tuple[House, m.Instrument]:
    found = house(site)
    return found, second_meter(found)


__all__ = ["beside", "duplicate", "judge", "quality_house", "second_meter", "zero"]
