"""One zone with one log of 2,000,000 readings: its readings over time, the whole of it and parts of it.

A logger that stood in a room for 231 days and stored a value every 10 s. Its clock was checked once and puts itself
back in autumn; an hour is missing every twelve days, and now and then a value is an error.
It goes in as the worker stores it, chunk by chunk, without a file.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from tests.bench.pages import LIMIT_MS, login, served
from tests.bench.stage import Score, database, show

READINGS, EVERY_S, CHUNK = 2_000_000, 10, 50_000
START = datetime(2026, 5, 4, 8, tzinfo=UTC)
REQUESTS = 20
DAY = timedelta(days=1)
#: What is looked at: how long, and how far apart the twenty places are.
PARTS = {"whole": (timedelta(), timedelta()), "a month": (30 * DAY, 10 * DAY), "a day": (DAY, 11 * DAY),
         "an hour": (timedelta(hours=1), 11 * DAY)}  # fmt: skip


def build(readings: int = READINGS) -> Any:
    """The zone; its campaign is the only one."""
    from campaigns import models as m
    from methods.quantities.moments import stamp_ms
    from tests import factories as make

    site = make.SiteFactory(time_zone="Europe/Lisbon")
    campaign = make.CampaignFactory(site=site, name="A year in the library", starts_on=START.date())
    zone = make.ZoneFactory(floor__building__site=site, name="Library")
    instrument = make.InstrumentFactory(organisation=site.organisation, name="logger L")
    end = START + timedelta(seconds=EVERY_S * readings)
    point = make.PointFactory(room__zone=zone, name="shelf")
    m.Deployment.objects.create(
        campaign=campaign, instrument=instrument, point=point, starts_at=START, ends_at=end - timedelta(hours=3)
    )
    shown = stamp_ms(datetime(2026, 5, 4, 9, 0, 40))  # noqa: DTZ001 - 40 s fast, on the logger's own clock
    m.ClockCheck.objects.create(instrument=instrument, at=START, shown_ms=shown)
    channel = instrument.channels.get()
    for days, observed in ((-1, 0.001), (60, 0.003), (200, 0.002)):
        m.FieldCheck.objects.create(channel=channel, kind="zero", at=START + days * DAY, reference=0, observed=observed)
    store(campaign, channel, readings)
    return campaign, zone


def store(campaign: Any, channel: Any, readings: int) -> None:
    from django.db import transaction

    from methods.clock import BurstsSoFar
    from readings.models import Upload
    from readings.store import Batch, Intake, StampCounts, write

    upload = Upload.objects.create(
        campaign=campaign, instrument=channel.instrument, filename="library.csv", size=40 * readings,
        sha256=f"{readings:064x}", state=Upload.State.READ, lines=readings, stored=readings,
    )  # fmt: skip
    repeats, file, bursts = StampCounts(), Intake(), BurstsSoFar()
    for first, stamp, raw, flag in chunks(readings):
        line = np.arange(first + 2, first + 2 + len(stamp))
        with transaction.atomic():
            write([file.see(Batch(channel.pk, upload.pk, stamp, repeats.number(stamp), raw, flag, line))], file)
        bursts.see(stamp)
    found = bursts.result()
    assert found is not None
    Upload.objects.filter(pk=upload.pk).update(
        bursts=found.tolist(), interval_ms=bursts.interval_ms, first_stamp_ms=found[0, 0], last_stamp_ms=found[-1, 1]
    )


def chunks(readings: int) -> Iterator[tuple[int, Any, Any, Any]]:
    """Number of the first, stamps, values and flags of each chunk."""
    from methods.clock import Basis
    from methods.quantities.flags import Flag
    from methods.quantities.moments import utc_ms

    random = np.random.default_rng(7)
    basis = Basis.in_zone("Europe/Lisbon")
    for first in range(0, readings, CHUNK):
        k = np.arange(first, min(first + CHUNK, readings), dtype=np.int64)
        k = k[k % 103_680 >= 360]  # an hour of every twelve days
        stamp = basis.from_utc(utc_ms(START) + 40_000 + 1000 * EVERY_S * k)  # it puts itself back, by its own time
        wave = 0.04 + 0.02 * np.sin(2 * np.pi * k / 8640) + 0.01 * np.sin(k / 100_000)
        raw = np.round(np.maximum(wave + 0.002 * random.normal(size=len(k)), 0), 3)
        flag = np.where(k % 50_021 == 7, int(Flag.SENSOR_ERROR), 0).astype(np.int64)
        yield first, stamp, np.where(flag, np.nan, raw), flag


def addresses(campaign: Any, zone: Any, part: str) -> Iterator[str]:
    from django.urls import reverse

    length, apart = PARTS[part]
    if not length:
        address = reverse("zone-series", args=[campaign.key, zone.key, "formaldehyde"])
        yield from [address] * REQUESTS
        return
    address = reverse("zone-range", args=[campaign.key, zone.key, "always", "formaldehyde"])
    for k in range(REQUESTS):
        start = START.replace(tzinfo=None) + timedelta(hours=20) + k * apart
        yield f"{address}?from={start.isoformat()}&to={(start + length).isoformat()}&width=1000"


def rows_of(campaign: Any, zone: Any, vendor: str) -> list[Score]:
    from types import SimpleNamespace

    get = served(login(SimpleNamespace(campaign=campaign)))  # type: ignore[arg-type]
    rows = []
    for part in PARTS:
        wall, cpu = [], []
        for address in addresses(campaign, zone, part):
            start, used = time.perf_counter(), time.process_time()
            assert get(address, {}) == 200
            wall.append(1000 * (time.perf_counter() - start))
            cpu.append(1000 * (time.process_time() - used))
        at = -(-95 * REQUESTS // 100) - 1
        found = f"{sorted(wall)[at]:.0f} ms ({sorted(cpu)[at]:.0f} ms CPU)"
        what = f"one log of 2 M readings, {part}, p95 of {REQUESTS}"
        rows.append(Score(what, vendor, found, "<= 150 ms", sorted(wall)[at] <= LIMIT_MS))
    return rows


def main() -> None:
    with database() as vendor:
        campaign, zone = build()
        show(rows_of(campaign, zone, vendor))


if __name__ == "__main__":
    main()
