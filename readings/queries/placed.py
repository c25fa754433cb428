"""Readings in their room: placed on the clock, assigned to deployments, corrected, flagged.

Nothing here is stored. It is derived each time from the rows as the logger stored them and from what people entered
about clocks, deployments, checks and calibrations, so that correcting one of those corrects everything.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cached_property
from itertools import groupby, islice
from typing import Any

import numpy as np
from django.db.models import Prefetch

from campaigns.models import Campaign, Channel, Deployment, FieldCheck, Instrument
from campaigns.services.air_pressure import pressure_at
from campaigns.services.correction_chains import chain_of
from methods.clock import ClockModel
from methods.correction import Corrected, correct
from methods.correction.flagging import NOT_DEPLOYED
from methods.placing import (
    OPEN_MS,
    assign,
    is_same_interval,
    standing_since,
    steady_interval_ms,
    typical_interval_ms,
)
from methods.quantities.arrays import Bools, Floats, Indexes, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.quantities.pressure import StationPressure
from methods.quantities.stamp_convention import StampConvention, StampConventions, alike
from methods.uncertainty.noise import Noise
from readings.models import Upload
from readings.queries.clock_facts import Files, clock_of, times_of
from readings.queries.rows import Rows, in_file_order, rows_of
from readings.queries.stamp_ranges import Stamps, reaches_of


@dataclass(frozen=True, eq=False)
class Placed:
    """Readings of one deployment and one channel in UTC order; arrays (n,), values in ``unit``.

    ``raw`` is nan where the logger stored none. ``index`` leads into ``corrected``, which can explain each one.
    ``represents``: what a stored value stands for, as the layout of its file says, else the instrument type. Where
    files differ inside a deployment it is what most of its readings stand for, and ``utc_ms`` is as if all did.
    ``stable``: the noise of single readings of this meter as its own quality runs show it, in ``unit``; None: unknown.
    """

    deployment: Deployment
    channel: Channel
    interval_ms: int
    represents: StampConvention
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
    stable: Noise | None = None

    @property
    def unit(self) -> str:
        return self.channel.spec.unit

    def __len__(self) -> int:
        return len(self.utc_ms)


@dataclass(frozen=True, eq=False)
class Stays:
    """From when to when an instrument was at which point, in turn: UTC ms (m,), ids of points (m,)."""

    starts: Ints
    ends: Ints
    points: Ints

    def since(self, starts: Ints, interval_ms: int) -> Ints:
        """Since when it stands where it is in the deployments that begin at ``starts`` (k,), UTC ms (k,)."""
        return standing_since(self.starts, self.ends, self.points, interval_ms)[np.searchsorted(self.starts, starts)]


@dataclass(frozen=True, eq=False)
class PlacingTask:
    """One instrument and its deployments, with all that people entered, and the stamps that have to be read.

    ``stays``: all its deployments, of whichever campaign; they tell whether it was moved to those asked for.
    """

    instrument: Instrument
    channels: list[Channel]
    deployments: list[Deployment]
    clock: ClockModel
    files: Files
    reaches: list[Stamps]
    stays: Stays
    pressure: StationPressure

    @property
    def spans(self) -> Ints:
        """(m, 2): from when to when, UTC ms."""
        return _spans(self.deployments)

    @cached_property
    def memo(self) -> dict[str, Any]:
        """What one channel leaves for the next."""
        return {}


def placed_in(
    campaign: Campaign,
    *,
    parameter: str | Collection[str] | None = None,
    deployments: Iterable[Deployment] | None = None,
    start: datetime | None = None,
    end: datetime | None = None,
) -> Iterator[Placed]:
    """The campaign's readings, instrument by instrument, channel by channel, deployment by deployment.

    ``parameter``: of one or of several only. ``start`` ≤ t < ``end`` narrows them in time, ``deployments`` to some of
    the campaign's own.
    """
    for task in asked_of(campaign, parameter, campaign.deployments.all() if deployments is None else deployments):
        for placed in placed_for(task):
            if len(cut := _between(placed, start, end)):
                yield cut


def asked_of(
    campaign: Campaign, parameter: str | Collection[str] | None, deployments: Iterable[Deployment]
) -> list[PlacingTask]:
    """What people entered about the instruments of ``deployments``, in a few queries for all of them."""
    ordered = sorted(deployments, key=lambda d: (d.instrument_id, d.starts_at))
    wanted = {pk: list(group) for pk, group in groupby(ordered, key=lambda d: d.instrument_id)}
    entered = _entered(wanted, [parameter] if isinstance(parameter, str) else parameter)
    files = _files(entered)
    clocks = {pk: clock_of(instrument, campaign.site) for pk, instrument in entered.items()}
    spans = {pk: _spans(wanted[pk]) for pk in entered}
    stays, pressure = _stays(entered), pressure_at(campaign)
    reaches = reaches_of(entered, clocks, spans, {pk: bool(files[pk].in_utc) for pk in entered})
    return [
        PlacingTask(
            of_instrument := entered[pk],
            list(of_instrument.channels.all()),
            wanted[pk],
            clocks[pk],
            files[pk],
            reaches[pk],
            stays[pk],
            pressure,
        )
        for pk in wanted
    ]


def placed_for(asked: PlacingTask) -> Iterator[Placed]:
    """Channel by channel, deployment by deployment; some may be without readings. One query where they are few."""
    parts = rows_of([(channel.pk, *reach) for channel in asked.channels for reach in asked.reaches])
    for channel in asked.channels:
        here = list(islice(parts, len(asked.reaches)))
        stored = in_file_order(np.concatenate(here) if len(here) > 1 else here[0])
        yield from _place(asked, channel, stored)


def _spans(deployments: list[Deployment]) -> Ints:
    return np.array([(utc_ms(d.starts_at), utc_ms(d.ends_at) if d.ends_at else OPEN_MS) for d in deployments])


def _entered(instruments: Collection[int], parameters: Collection[str] | None) -> dict[int, Instrument]:
    """The instruments by id, with all that people entered about their clocks and channels: a few queries for all."""
    checks = Prefetch("field_checks", FieldCheck.objects.select_related("accepted_by"))
    channels = Channel.objects.select_related("spec").prefetch_related("calibrations", checks)
    if parameters:
        channels = channels.filter(spec__parameter__in=parameters)
    wanted = Prefetch("channels", channels.order_by("spec__parameter", "pk"))
    entered = Instrument.objects.select_related("type").prefetch_related("clock_checks", "clock_resets", wanted)
    return entered.in_bulk(instruments)


def _stays(instruments: Collection[int]) -> dict[int, Stays]:
    """By instrument all its deployments: one query for all."""
    rows = Deployment.objects.filter(instrument__in=instruments).order_by("starts_at")
    by_instrument: dict[int, list[tuple[int, int, int]]] = {pk: [] for pk in instruments}
    for pk, point, starts_at, ends_at in rows.values_list("instrument_id", "point_id", "starts_at", "ends_at"):
        by_instrument[pk].append((utc_ms(starts_at), utc_ms(ends_at) if ends_at else OPEN_MS, point))
    return {pk: Stays(*np.array(stays, dtype=np.int64).reshape(-1, 3).T) for pk, stays in by_instrument.items()}


def _files(instruments: Collection[int]) -> dict[int, Files]:
    """By instrument what its files say of their stamps."""
    said: dict[int, list[tuple[Any, ...]]] = {instrument: [] for instrument in instruments}
    uploads = Upload.objects.filter(instrument__in=instruments)
    for instrument, *of_file in uploads.values_list("instrument_id", *Files.ASKED):
        said[instrument].append(tuple(of_file))
    return {instrument: Files.of(of_files) for instrument, of_files in said.items()}


@dataclass(frozen=True, eq=False)
class Derived:
    """Rows (n,) in UTC order with what follows for each.

    ``order`` (n,): which of the rows passed each one is; ``where`` (n,): in which of the deployments, −1 in none;
    ``conventions``: what they stand for, one or codes (n,).
    """

    rows: Rows
    order: Ints
    utc_ms: Ints
    where: Indexes
    conventions: StampConventions
    corrected: Corrected


def derived(
    asked: PlacingTask, channel: Channel, stored: Rows, interval_ms: int, unbroken: Bools | None = None
) -> Derived:
    """``stored`` (n,) in file order. ``unbroken`` (n,): before which there is no gap, where rows were left out."""
    laid = _laid(asked, stored, interval_ms)
    order, utc, where, conventions = laid.order, laid.utc_ms, laid.where, laid.conventions
    stored = stored if laid.in_order else stored[order]
    corrected = correct(
        utc, stored["raw"], chain_of(channel, interval_ms, asked.pressure), flags=stored["flag"] | laid.flags,
        standing_ms=laid.standing_ms, represents=conventions, unbroken=False if unbroken is None else unbroken[order],
    )  # fmt: skip
    return Derived(stored, order, utc, where, conventions, corrected)


@dataclass(frozen=True, eq=False)
class _Laid:
    """What follows for rows from when they were logged alone, (n,) in UTC order: the same for all channels of a log.

    ``flags``: of the clock, and of switching on. ``rows``: those it was worked out for, in file order.
    """

    rows: Rows
    interval_ms: int
    in_order: bool
    order: Ints
    utc_ms: Ints
    flags: Ints
    conventions: StampConventions
    where: Indexes
    standing_ms: Ints

    def is_for(self, rows: Rows, interval_ms: int) -> bool:
        return self.interval_ms == interval_ms and all(
            np.array_equal(self.rows[name], rows[name]) for name in ("stamp", "upload_id", "line")
        )


def _laid(asked: PlacingTask, stored: Rows, interval_ms: int) -> _Laid:
    before: _Laid | None = asked.memo.get("laid")
    if before is not None and before.is_for(stored, interval_ms):
        return before
    rows, spans = stored, asked.spans
    utc, flags = times_of(stored, asked.clock, asked.files)
    order, in_order = np.arange(len(utc)), not (utc[1:] < utc[:-1]).any()
    if not in_order:
        order = np.argsort(utc, kind="stable")
        stored, utc, flags = stored[order], utc[order], flags[order]
    conventions = asked.files.conventions(stored["upload_id"], asked.instrument)
    where = assign(utc, spans[:, 0], spans[:, 1], conventions, interval_ms)
    flags = flags | _switched_on(utc, asked.deployments, asked.instrument.type.warm_up_s)
    standing = np.where(where >= 0, asked.stays.since(spans[:, 0], interval_ms)[where], NOT_DEPLOYED)
    _settle_anew(standing, utc, where, asked.deployments)
    laid = _Laid(rows, interval_ms, in_order, order, utc, flags, conventions, where, standing)
    asked.memo["laid"] = laid
    return laid


def _place(asked: PlacingTask, channel: Channel, stored: Rows) -> Iterator[Placed]:
    if not len(stored):
        return
    usual = typical_interval_ms(stored["stamp"]) or MINUTE_MS
    by_interval = {usual: derived(asked, channel, stored, usual)}
    for k, deployment in enumerate(asked.deployments):
        got = by_interval[usual]
        index = np.flatnonzero(got.where == k)
        own = steady_interval_ms(got.utc_ms[index]) or usual
        if not is_same_interval(own, usual):  # by that of the others each of its readings would follow a gap, or none
            same = next((held for held in by_interval if is_same_interval(held, own)), own)
            if same not in by_interval:
                by_interval[same] = derived(asked, channel, stored, own)
            got = by_interval[same]
            index = np.flatnonzero(got.where == k)
        yield _cut(deployment, channel, own, got, index)


def _switched_on(utc: Ints, deployments: list[Deployment], warm_up_s: int) -> Ints:
    """Warm-up that a person noted; the one that a gap in the log shows is found by the correction itself."""
    flags = np.zeros(len(utc), dtype=np.int64)
    for deployment in deployments:
        if deployment.switched_on_at:
            on = utc_ms(deployment.switched_on_at)
            flags[(utc >= on) & (utc < on + warm_up_s * 1000)] |= Flag.WARMING_UP
    return flags


def _settle_anew(standing: Ints, utc: Ints, where: Indexes, deployments: list[Deployment]) -> None:
    """Settling begins again where a person noted that the meter was switched on."""
    for k, deployment in enumerate(deployments):
        if deployment.switched_on_at:
            on = utc_ms(deployment.switched_on_at)
            after = (where == k) & (utc >= on)
            standing[after] = np.maximum(standing[after], on)


def _cut(deployment: Deployment, channel: Channel, interval: int, got: Derived, index: Ints) -> Placed:
    conventions, corrected = got.conventions, got.corrected
    here = _stretch(index)
    times = corrected.utc_ms[here]
    interval = _interval(times, interval)
    represents, utc = alike(times, conventions if isinstance(conventions, str) else conventions[here], interval)
    if not isinstance(conventions, str):  # some may have moved past each other
        order = np.argsort(utc, kind="stable")
        index, utc = index[order], utc[order]
        here = index
    rows_here = got.rows[here]
    return Placed(
        deployment=deployment,
        channel=channel,
        interval_ms=interval,
        represents=represents,
        utc_ms=utc,
        stamp=rows_here["stamp"],
        nth=rows_here["nth"],
        raw=rows_here["raw"],
        value=corrected.value[here],
        flags=corrected.flags[here].astype(np.int64),
        upload_id=rows_here["upload_id"],
        line=rows_here["line"],
        corrected=corrected,
        index=index,
    )


def _stretch(index: Ints) -> slice | Ints:
    """Ascending places; where they follow each other, they are seen and not copied."""
    if len(index) and index[-1] - index[0] == len(index) - 1:
        return slice(int(index[0]), int(index[-1]) + 1)
    return index


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
