"""Logs and results for tests of judging."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import erf, sqrt

import numpy as np

from campaigns import models as m
from methods.quantities.moments import utc_ms
from readings.models import Upload
from readings.store import Batch, write
from reports.models import Result
from reports.trace import OutdoorComparison, SourceReading
from tests import factories as make
from tests.reports.measured import House, judge

#: mg/m³ per ppm of formaldehyde at 25 °C and 101.325 kPa: 30.026 / 24.4654 (U-07; molar volume from the SI of 2019).
FACTOR = 30.026 / (8.314462618 * 298.15 / 101.325)
#: The same at 0 °C, where GB 50325 counts its air.
FACTOR_AT_ZERO = 30.026 / (8.314462618 * 273.15 / 101.325)


def above(x: float, limit: float, u: float) -> float:
    """Φ((x − L)/u): JCGM 106 §7."""
    return 0.5 * (1 + erf((x - limit) / u / sqrt(2)))


def outdoor_of(result: Result) -> OutdoorComparison:
    """The outdoor air beside a result that has some."""
    assert isinstance(result.traced.outdoor, OutdoorComparison)
    return result.traced.outdoor


def ends_of(result: Result) -> tuple[SourceReading, SourceReading]:
    """The first and the last reading of the window of a result with a value."""
    assert result.traced.first is not None
    assert result.traced.last is not None
    return result.traced.first, result.traced.last


def result_at(zone: m.Zone, code: str = "HCHO-WHO10-30M") -> Result:
    return Result.objects.get(point__room__zone=zone, criterion__limit__code=code)


def store(found: House, channel: m.Channel, start: datetime, raw: list[float]) -> None:
    """A log of its own with a reading a minute."""
    upload = Upload.objects.create(
        campaign=found.campaign, instrument=found.instrument, filename=f"{start:%H%M}.csv", size=1,
        sha256=f"{Upload.objects.count():064x}",
    )  # fmt: skip
    n = len(raw)
    stamp = utc_ms(start) + 60_000 * np.arange(1, n + 1, dtype=np.int64)
    zeros = np.zeros(n, dtype=np.int64)
    write([Batch(channel.pk, upload.pk, stamp, zeros, np.array(raw), zeros, np.arange(1, n + 1))])


def warm(found: House, zone: m.Zone, degrees: list[float], hour: int) -> m.Deployment:
    """A reading of temperature a minute; the thermometer is known to 0.2 °C."""
    held = found.instrument.type.channel_specs.filter(parameter="temperature").first()
    spec = held or make.ChannelSpecFactory(
        instrument_type=found.instrument.type, parameter="temperature", unit="°C", resolution=0.1, range_low=-20,
        range_high=60, detection_limit=None, u_zero=0.2, u_span=0.0, u_drift=0.0, u_temperature=0.0,
        u_interference=0.0,
    )  # fmt: skip
    channel = found.instrument.channels.get(spec=spec)
    start = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument,
        point=make.PointFactory(room=zone.rooms.get(), name=f"thermometer {hour}"),
        starts_at=start, ends_at=start + timedelta(minutes=len(degrees)),
    )  # fmt: skip
    store(found, channel, start, degrees)
    return deployment


def steady(found: House, zone: m.Zone, level: float, hour: int, *, kind: str = "room_air", name: str = "p") -> Result:
    """An hour of one and the same reading a minute, judged."""
    room = zone.rooms.get()
    point = make.PointFactory(room=room, name=name, kind=kind)
    start = make.START + timedelta(hours=hour)
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=point, starts_at=start,
        ends_at=start + timedelta(hours=1),
    )  # fmt: skip
    store(found, found.channel, start, [level] * 60)
    judge(found.campaign)
    return Result.objects.get(deployment=deployment, criterion__limit__code="HCHO-WHO10-30M")
