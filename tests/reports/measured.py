"""A small house with measured zones, judged: what reports are made from. Invented, like everything in the tests.

Three zones: one far above the WHO 30-minute guideline of 0.1 mg/m³ (about 0.08 ppm), one far below, one not measured.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np

from campaigns import models as m
from campaigns.enqueue import enqueue
from campaigns.models import Criterion, Limit
from campaigns.tasks import run_job
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.job_kinds import EVALUATE
from tests import factories as make
from tests.agreeing import unagreed

HIGH, LOW = 0.250, 0.020  # ppm
MINUTES = 90
SHA = "5e1f" * 16


@dataclass
class House:
    campaign: m.Campaign
    high: m.Zone
    low: m.Zone
    empty: m.Zone
    instrument: m.Instrument
    upload: Upload

    @property
    def channel(self) -> m.Channel:
        return self.instrument.channels.get()


def house(site: m.Site, *, limits: tuple[str, ...] = ("HCHO-WHO10-30M",)) -> House:
    """Everything up to the judged campaign; no job is left waiting."""
    floor = make.FloorFactory(building__site=site, building__name="Main house", name="First floor", level=1)
    high, low, empty = (make.ZoneFactory(floor=floor, name=name) for name in ("Attic studio", "Library", "Cellar"))
    points = {
        zone: make.PointFactory(room__zone=zone, room__name=f"{zone} room", name="centre") for zone in (high, low)
    }
    points[empty] = make.PointFactory(room__zone=empty, room__name="Cellar room", name="centre")
    campaign = make.CampaignFactory(site=site, name="Autumn round", objective="Is it raised in the attic studio?")
    for point in points.values():
        m.PlannedPoint.objects.create(campaign=campaign, point=point)
    instrument = make.InstrumentFactory(
        organisation=site.organisation, name="meter A", serial="TST-0001", clock_basis="utc"
    )
    upload = Upload.objects.create(
        campaign=campaign, instrument=instrument, filename="attic and library.csv", size=4321, sha256=SHA,
        state=Upload.State.READ, lines=2 * MINUTES,
    )  # fmt: skip
    found = House(campaign, high, low, empty, instrument, upload)
    _papers(found)
    measure(found, points[high], make.START, HIGH, line=2)
    measure(found, points[low], make.START + timedelta(hours=3), LOW, line=2 + MINUTES)
    _judge_against(campaign, limits)
    unagreed(campaign)
    work()
    return found


def against(found: House, *codes: str) -> House:
    """The same house judged against these limits, and no others."""
    found.campaign.criteria.all().delete()
    _judge_against(found.campaign, codes)
    judge(found.campaign)
    return found


def _judge_against(campaign: m.Campaign, codes: Iterable[str]) -> None:
    for position, code in enumerate(codes):
        Criterion.objects.create(campaign=campaign, limit=Limit.objects.get(code=code), position=position)


def _papers(found: House) -> None:
    channel = found.channel
    m.Calibration.objects.create(channel=channel, date=date(2026, 3, 2), due=date(2027, 3, 2), certificate="C-77")
    for hours in (-1, 7):
        m.FieldCheck.objects.create(
            channel=channel,
            kind="zero",
            at=make.START + timedelta(hours=hours),
            reference=0,
            observed=0.0,
            u_reference=0.0,
        )


def measure(found: House, point: m.SamplingPoint, start: datetime, level: float, *, line: int) -> m.Deployment:
    """A visit of ``MINUTES`` with one reading a minute around ``level`` ppm."""
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=point,
        starts_at=start, ends_at=start + timedelta(minutes=MINUTES),
    )  # fmt: skip
    stamp = utc_ms(start) + 60_000 * np.arange(1, MINUTES + 1, dtype=np.int64)
    raw = np.round(level + 0.001 * np.sin(np.arange(MINUTES)), 3)
    zeros = np.zeros(MINUTES, dtype=np.int64)
    write([Batch(found.channel.pk, found.upload.pk, stamp, zeros, raw, zeros, np.arange(line, line + MINUTES))])
    return deployment


def judge(campaign: m.Campaign) -> None:
    enqueue(EVALUATE, campaign.pk, organisation_id=campaign.site.organisation_id, owner=None)
    work()


def work() -> None:
    """Do everything that waits, as a worker would."""
    while waiting := m.Job.objects.filter(state=m.Job.State.QUEUED).order_by("pk").first():
        run_job(waiting.pk)
        waiting.refresh_from_db()
        is_next = waiting.state == m.Job.State.QUEUED and not waiting.attempts  # it was another house's turn
        assert is_next or waiting.state == m.Job.State.DONE, f"{waiting.kind}: {waiting.message}"
