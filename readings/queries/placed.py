"""Readings in their room: placed on the clock, assigned to deployments, corrected, flagged.

Nothing here is stored. It is derived each time from the rows as the logger stored them and from what people entered
about clocks, deployments, checks and calibrations, so that correcting one of those corrects everything.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from typing import Any

import numpy as np
import numpy.typing as npt
from django.db.models import Prefetch

from campaigns.models import Campaign, Channel, Deployment, Instrument
from campaigns.stamps import utc_ms
from readings.assign import OPEN_MS, Represents, Standing, alike, assign, typical_interval_ms
from readings.clock import ClockModel
from readings.correct import Corrected, correct
from readings.correct.flagging import NOT_DEPLOYED
from readings.flags import Flag
from readings.models import Upload
from readings.queries.chains import chain_of
from readings.queries.clocks import Files, clock_of, times_of
from readings.queries.rows import Rows, rows

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]

#: Readings before a deployment are read too, because they tell when the instrument was switched on.
LEAD_MS = 2 * 3600 * 1000
MINUTE_MS = 60_000
DAY_MS = 24 * 3600 * 1000
FAR_MS = 4_102_444_800_000  # 2100-01-01: where the query for a deployment that is still open ends


@dataclass(frozen=True, eq=False)
class Placed:
    """Readings of one deployment and one channel in UTC order; arrays (n,), values in ``unit``.

    ``raw`` is nan where the logger stored none. ``index`` leads into ``corrected``, which can explain each one.
    ``represents``: what a stored value stands for, as the layout of its file says, else the instrument type. Where
    files differ inside a deployment it is what most of its readings stand for, and ``utc_ms`` is as if all did.
    """

    deployment: Deployment
    channel: Channel
    interval_ms: int
    represents: Represents
    utc_ms: Ints
    stamp: Ints
    nth: Ints
    raw: Floats
    value: Floats
    flags: Ints
    upload_id: Ints
    line: Ints
    corrected: Corrected
    index: Ints

    @property
    def unit(self) -> str:
        return self.channel.spec.unit

    def __len__(self) -> int:
        return len(self.utc_ms)


def placed_in(
    campaign: Campaign,
    *,
    parameter: str | None = None,
    deployments: Iterable[Deployment] | None = None,
    start: datetime | None = None,
    end: datetime | None = None,
) -> Iterator[Placed]:
    """The campaign's readings, instrument by instrument, channel by channel, deployment by deployment.

    ``start`` ≤ t < ``end`` narrows them in time, ``deployments`` to some of the campaign's own.
    """
    wanted = campaign.deployments.all() if deployments is None else deployments
    ordered = sorted(wanted, key=lambda d: (d.instrument_id, d.starts_at))
    entered = _entered({d.instrument_id for d in ordered}, parameter)
    files = _files(entered)
    for pk, group in groupby(ordered, key=lambda d: d.instrument_id):
        yield from _of_instrument(campaign, entered[pk], files[pk], list(group), start, end)


def _entered(instruments: Collection[int], parameter: str | None) -> dict[int, Instrument]:
    """The instruments by id, with all that people entered about their clocks and channels: a few queries for all."""
    channels = Channel.objects.select_related("spec").prefetch_related("calibrations", "field_checks")
    if parameter:
        channels = channels.filter(spec__parameter=parameter)
    wanted = Prefetch("channels", channels.order_by("spec__parameter", "pk"))
    found = Instrument.objects.select_related("type").prefetch_related("clock_checks", "clock_resets", wanted)
    return found.in_bulk(instruments)


def _files(instruments: Collection[int]) -> dict[int, Files]:
    """By instrument what its files say of their stamps."""
    said: dict[int, list[tuple[Any, ...]]] = {instrument: [] for instrument in instruments}
    uploads = Upload.objects.filter(instrument__in=instruments)
    for instrument, *of_file in uploads.values_list("instrument_id", *Files.ASKED):
        said[instrument].append(tuple(of_file))
    return {instrument: Files.of(of_files) for instrument, of_files in said.items()}


def _of_instrument(
    campaign: Campaign,
    instrument: Instrument,
    files: Files,
    deployments: list[Deployment],
    start: datetime | None,
    end: datetime | None,
) -> Iterator[Placed]:
    clock = clock_of(instrument, campaign.site)
    spans = np.array([(utc_ms(d.starts_at), utc_ms(d.ends_at) if d.ends_at else OPEN_MS) for d in deployments])
    for channel in instrument.channels.all():
        found = _in_file_order(_rows_of(channel, clock, spans, bool(files.in_utc)))
        for placed in _place(channel, found, clock, files, deployments, spans):
            if len(cut := _between(placed, start, end)):
                yield cut


def _rows_of(channel: Channel, clock: ClockModel, spans: Ints, some_in_utc: bool) -> Rows:
    first, last = int(spans[:, 0].min()) - LEAD_MS, int(spans[:, 1].max())
    low, high = clock.stamp_bounds(first, min(last, FAR_MS))
    if some_in_utc:  # stamps of another basis: a day wider on both sides holds every zone
        low, high = low - DAY_MS, high + DAY_MS
    return rows(channel.pk, low, high)


def _in_file_order(found: Rows) -> Rows:
    return found[np.lexsort((found["line"], found["upload_id"]))]


def _place(
    channel: Channel, found: Rows, clock: ClockModel, files: Files, deployments: list[Deployment], spans: Ints
) -> Iterator[Placed]:
    if not len(found):
        return
    interval = typical_interval_ms(found["stamp"]) or MINUTE_MS
    utc, clock_flags = times_of(found, clock, files)
    order = np.argsort(utc, kind="stable")
    found, utc, flags = found[order], utc[order], (found["flag"] | clock_flags)[order]
    stand = files.standing(found["upload_id"], channel.instrument)
    where = assign(utc, spans[:, 0], spans[:, 1], stand, interval)
    flags |= _switched_on(utc, deployments, channel.instrument.type.warm_up_s)
    deployed = np.where(where >= 0, spans[:, 0][where], NOT_DEPLOYED)
    chain = chain_of(channel, interval)
    corrected = correct(utc, found["raw"], chain, flags=flags, deployed_ms=deployed, represents=stand)
    for k, deployment in enumerate(deployments):
        index = np.flatnonzero(where == k)
        yield _cut(deployment, channel, interval, stand, found, corrected, index)


def _switched_on(utc: Ints, deployments: list[Deployment], warm_up_s: int) -> Ints:
    """Warm-up that a person noted; the one that a gap in the log shows is found by the correction itself."""
    flags = np.zeros(len(utc), dtype=np.int64)
    for deployment in deployments:
        if deployment.switched_on_at:
            on = utc_ms(deployment.switched_on_at)
            flags[(utc >= on) & (utc < on + warm_up_s * 1000)] |= Flag.WARMING_UP
    return flags


def _cut(
    deployment: Deployment,
    channel: Channel,
    interval: int,
    stand: Standing,
    found: Rows,
    corrected: Corrected,
    index: Ints,
) -> Placed:
    interval = _interval(corrected.utc_ms[index], interval)
    word, utc = alike(corrected.utc_ms[index], stand if isinstance(stand, str) else stand[index], interval)
    if not isinstance(stand, str):  # some may have moved past each other
        order = np.argsort(utc, kind="stable")
        index, utc = index[order], utc[order]
    rows_here = found[index]
    return Placed(
        deployment=deployment,
        channel=channel,
        interval_ms=interval,
        represents=word,
        utc_ms=utc,
        stamp=rows_here["stamp"],
        nth=rows_here["nth"],
        raw=rows_here["raw"],
        value=corrected.value[index],
        flags=corrected.flags[index].astype(np.int64),
        upload_id=rows_here["upload_id"],
        line=rows_here["line"],
        corrected=corrected,
        index=index,
    )


def _interval(times: Ints, otherwise: int) -> int:
    """The logging interval inside one deployment: it may differ between visits."""
    return typical_interval_ms(times) or otherwise


def _between(placed: Placed, start: datetime | None, end: datetime | None) -> Placed:
    low = utc_ms(start) if start else None
    high = utc_ms(end) if end else None
    keep = np.ones(len(placed), dtype=bool)
    if low is not None:
        keep &= placed.utc_ms >= low
    if high is not None:
        keep &= placed.utc_ms < high
    if keep.all():
        return placed
    names = ("utc_ms", "stamp", "nth", "raw", "value", "flags", "upload_id", "line", "index")
    cut = {name: getattr(placed, name)[keep] for name in names}
    return replace(placed, **cut)
