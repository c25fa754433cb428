"""What one channel logged around a campaign, in UTC order and unplaced: what a timeline is drawn from.

A million readings take a while to fetch and a moment to keep: regular times and coarse values press together well, so
the arrays are cached under a fingerprint of all they rest on. Readings never change, so nothing goes stale.
"""

from __future__ import annotations

import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

import numpy as np
from django.core.cache import cache
from django.db.models import Count, Max, Min, Sum

from campaigns.models import Campaign, Channel, Deployment, QualityRun
from methods.clock import ClockModel
from methods.placing import OPEN_MS, UNPLACED, assign, typical_interval_ms
from methods.quantities.arrays import Bools, Floats, Indexes, Ints
from methods.quantities.durations import DAY_MS, MINUTE_MS
from methods.quantities.moments import utc_ms
from methods.quantities.stamp_convention import StampConventions
from readings.models import Upload
from readings.queries.clock_facts import Files, clock_of, represents, times_of
from readings.queries.rows import Rows, in_file_order, rows

#: Fewer readings are fetched as fast as they are unpacked.
WORTH_KEEPING = 20_000
KEPT_S = 3600


@dataclass(frozen=True, eq=False)
class Logged:
    """Readings of one channel, arrays (n,) by UTC; ``raw`` as stored, nan where the logger stored none.

    ``interval_ms`` (n,): the logging interval of the file of each; ``doubtful``: its time is not sure; ``represents``:
    what a stored value stands for, one for all or codes (n,).
    """

    channel: Channel
    utc_ms: Ints
    raw: Floats
    interval_ms: Ints
    doubtful: Bools
    represents: StampConventions

    def __len__(self) -> int:
        return len(self.utc_ms)

    @property
    def typical_ms(self) -> int:
        return typical_interval_ms(self.utc_ms) or MINUTE_MS

    def outside(self, deployments: Iterable[Deployment]) -> Bools:
        """(n,): which readings lie outside every one of ``deployments``."""
        outside: Bools = self.within(deployments) == UNPLACED
        return outside

    def within(self, deployments: Iterable[Deployment | QualityRun]) -> Indexes:
        """(n,): index of the deployment of each reading, −1 outside every one."""
        stays = list(deployments)
        starts = [utc_ms(d.starts_at) for d in stays]
        ends = [utc_ms(d.ends_at) if d.ends_at else OPEN_MS for d in stays]
        return assign(self.utc_ms, starts, ends, self.represents, self.interval_ms)


def logged(channel: Channel, campaign: Campaign, deployments: Iterable[Deployment]) -> Logged:
    """All that ``channel`` stored in the files of ``campaign`` and around ``deployments``.

    ``channel`` comes with instrument and type. What the instrument stored for other campaigns meanwhile is in it, too.
    """
    clock = clock_of(channel.instrument, campaign.site)
    reach = _reach(channel, campaign, clock, list(deployments))
    if reach is None:
        nothing = np.zeros(0, dtype=np.int64)
        usual = represents(channel.instrument)
        return Logged(channel, nothing, nothing.astype(float), nothing, nothing.astype(bool), usual)
    uploads = Upload.objects.filter(instrument=channel.instrument)
    held = uploads.aggregate(
        Count("pk"), Max("pk"), Sum("stored"), Sum("asides"), Max("last_stamp_ms"), Min("first_stamp_ms")
    )
    files = Files.of(uploads.order_by("pk").values_list(*Files.ASKED))
    conventions = (represents(channel.instrument), sorted(files.represents.items()))
    said = (sorted(files.in_utc), sorted(files.middle_ms.items()), conventions)
    print_ = sha256(repr((channel.pk, reach, clock, said, sorted(held.items()))).encode()).hexdigest()
    name = f"logged:{print_}"
    if (kept := cache.get(name)) is not None:
        return Logged(channel, *_unpacked(kept))
    series = _placed_on_the_clock(channel, rows(channel.pk, *reach), clock, files)
    if len(series) >= WORTH_KEEPING:
        cache.set(name, _packed(series), KEPT_S)
    return series


def _reach(
    channel: Channel, campaign: Campaign, clock: ClockModel, deployments: list[Deployment]
) -> tuple[int, int] | None:
    """Lowest and highest stamp to look for; None where there is nothing."""
    files = campaign.uploads.filter(instrument=channel.instrument).exclude(state=Upload.State.WITHDRAWN)
    edges = files.aggregate(low=Min("first_stamp_ms"), high=Max("last_stamp_ms"))
    lows, highs = [], []
    if edges["low"] is not None:
        lows.append(edges["low"] - DAY_MS)  # a day holds every basis a file may have
        highs.append(edges["high"] + DAY_MS)
    if deployments:
        first = min(utc_ms(d.starts_at) for d in deployments)
        last = max(utc_ms(d.ends_at or d.starts_at) for d in deployments)
        low, high = clock.stamp_bounds(first - DAY_MS, last + DAY_MS)
        lows.append(low)
        highs.append(high)
    return (min(lows), max(highs)) if lows else None


def _placed_on_the_clock(channel: Channel, stored: Rows, clock: ClockModel, files: Files) -> Logged:
    stored = in_file_order(stored)
    utc, flags = times_of(stored, clock, files)
    interval = _intervals(stored["upload_id"], utc)
    conventions = files.conventions(stored["upload_id"], channel.instrument)
    if (utc[1:] < utc[:-1]).any():
        order = np.argsort(utc, kind="stable")
        stored, utc, flags, interval = stored[order], utc[order], flags[order], interval[order]
        conventions = conventions if isinstance(conventions, str) else conventions[order]
    return Logged(channel, utc, stored["raw"].copy(), interval, flags != 0, conventions)


def _intervals(upload: Ints, utc: Ints) -> Ints:
    """(n,): the logging interval of the file of each; readings of one file are neighbours."""
    starts = np.flatnonzero(np.concatenate(([True], upload[1:] != upload[:-1]))[: len(upload)])
    stops = np.append(starts[1:], len(upload))[: len(starts)]
    own = [typical_interval_ms(utc[a:b]) or MINUTE_MS for a, b in zip(starts, stops, strict=True)]
    return np.repeat(np.array(own, dtype=np.int64), stops - starts)


def _packed(series: Logged) -> tuple[Any, ...]:
    times = np.diff(series.utc_ms, prepend=0)
    steps = np.diff(series.interval_ms, prepend=0)
    arrays = (times, series.raw.astype(np.float32), steps, np.packbits(series.doubtful))
    represents = series.represents
    conventions = represents if isinstance(represents, str) else zlib.compress(represents.tobytes(), 1)
    return len(series), conventions, *(zlib.compress(array.tobytes(), 1) for array in arrays)


def _unpacked(kept: tuple[Any, ...]) -> tuple[Ints, Floats, Ints, Bools, StampConventions]:
    count: int = kept[0]
    conventions: StampConventions = kept[1]
    if not isinstance(conventions, str):
        conventions = np.frombuffer(zlib.decompress(kept[1]), dtype=np.int8)
    times, raw, steps, doubtful = (zlib.decompress(part) for part in kept[2:])
    return (
        np.cumsum(np.frombuffer(times, dtype=np.int64)),
        np.frombuffer(raw, dtype=np.float32).astype(np.float64),
        np.cumsum(np.frombuffer(steps, dtype=np.int64)),
        np.unpackbits(np.frombuffer(doubtful, dtype=np.uint8), count=count).astype(bool),
        conventions,
    )
