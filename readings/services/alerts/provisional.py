"""A log that waits for an answer, held against the levels as it was understood so far: nobody has to be asked before
somebody is warned. Nothing of it is stored by this."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
from django.db import transaction
from django.db.models import Q

from campaigns.models import AlertLevel, Channel, Deployment, Instrument, Job
from campaigns.services.locks import hold_campaign
from methods import logs
from methods.logs.layouts.layout_answers import answer, questions_left
from methods.logs.types import ColumnRole, Layout, Unreadable
from methods.placing import typical_interval_ms
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from methods.quantities.stamp_convention import alike
from readings.models import Alert, Upload
from readings.queries.alert_readings import STORED, AlertReadings
from readings.queries.clock_facts import Files, clock_of, times_of
from readings.services import column_channels
from readings.services.alerts.found import FoundEvent, events_of
from readings.services.alerts.looking import ask_to_look
from readings.services.alerts.raising import keep_asked

log = logging.getLogger(__name__)
CHUNK_ROWS = 50_000


def look_before_the_answer(
    job: Job, upload: Upload, path: Path, layout: Layout | None, instrument: Instrument | None
) -> None:
    """Of a file that was just read, or that a question stopped: raise what it reaches while nothing of it is stored,
    and have what was raised before looked at again once something is. ``layout``: as it was understood."""
    stands = Upload.objects.filter(pk=upload.pk).values_list("state", "stored", "held").get()
    if stands != (Upload.State.ATTENTION, 0, 0):
        if upload.alerts.filter(standing=Alert.Standing.ASKED).exists():
            ask_to_look([upload.campaign_id])
        return
    levels = list(upload.campaign.alert_levels.filter(is_on=True))
    if layout is None or instrument is None or not levels:
        return
    try:
        found = list(_events(job, upload, path, _readable(layout, instrument), instrument, levels))
    except (Unreadable, ValueError, LookupError) as error:  # it cannot be read as it was understood
        log.info("Upload %s could not be held against alert levels: %s", upload.key, error)
        return
    with transaction.atomic():
        hold_campaign(upload.campaign)
        job.beat()
        keep_asked(upload, found)


def _readable(layout: Layout, instrument: Instrument) -> Layout:
    """With the first choice for what decides about times, and for a unit that nobody knows the one that the instrument
    shows: of several ways to understand it, one has to be looked at."""
    shown: dict[str, set[str]] = {}
    for channel in instrument.channels.select_related("spec"):
        shown.setdefault(channel.spec.parameter, set()).add(channel.spec.unit)
    columns = []
    for column in layout.columns:
        units = shown.get(column.parameter or "", set())
        is_open = column.role is ColumnRole.VALUE and column.unit is None and len(units) == 1
        columns.append(replace(column, unit=next(iter(units))) if is_open else column)
    layout = replace(layout, columns=tuple(columns))
    for question in questions_left(layout):
        if question.column is None and question.choices:
            layout = answer(layout, question, question.choices[0][0])
    return layout


def _events(
    job: Job, upload: Upload, path: Path, layout: Layout, instrument: Instrument, levels: list[AlertLevel]
) -> Iterator[FoundEvent]:
    channels, _ = column_channels.match(layout, instrument)
    asked = {level.parameter for level in levels}
    wanted = {k: c for k, c in enumerate(channels) if c is not None and c.spec.parameter in asked}
    if not wanted:
        return
    parts = []
    for chunk in logs.read(path, layout, chunk_rows=CHUNK_ROWS):
        job.beat_if_due()
        if len(chunk.lines):
            parts.append((chunk.stamps, chunk.lines, chunk.values, chunk.flags))
    if not parts:
        return
    stamps, lines, values, flags = (np.concatenate(each) for each in zip(*parts, strict=True))
    for k, channel in wanted.items():
        readings = _readings(upload, layout, channel, stamps, lines, values[:, k], flags[:, k].astype(np.int64))
        for level in levels:
            if readings is not None and level.parameter == channel.spec.parameter:
                yield from (_placed(event, upload) for event in events_of(readings, level))


def _readings(
    upload: Upload, layout: Layout, channel: Channel, stamps: Ints, lines: Ints, raw: Floats, flags: Ints
) -> AlertReadings | None:
    """The readings (n,) of one column as they would be stored."""
    there = np.flatnonzero(~(np.isnan(raw) & (flags == 0)))
    if not len(there):
        return None
    said, kept = layout.to_json(), upload.kept_layout
    files = Files.of([(upload.pk, said.get("basis"), said.get("stamp_format"), kept.represents if kept else "")])
    instrument = channel.instrument
    rows = np.zeros(len(there), dtype=[("stamp", np.int64), ("upload_id", np.int64)])
    rows["stamp"], rows["upload_id"] = stamps[there], upload.pk
    utc, _ = times_of(rows, clock_of(instrument, upload.campaign.site), files)
    interval = typical_interval_ms(np.sort(utc)) or MINUTE_MS
    represents, utc = alike(utc, files.conventions(rows["upload_id"], instrument), interval)
    order = np.argsort(utc, kind="stable")
    there, utc = there[order], utc[order]
    return AlertReadings(
        channel, None, interval, represents, utc, stamps[there], rows["upload_id"], lines[there], raw[there],
        flags[there] & STORED,
    )  # fmt: skip


def _placed(event: FoundEvent, upload: Upload) -> FoundEvent:
    """With the point where the instrument stood then, where that is known already."""
    at = utc_moment(event.reached_ms)
    stays = Deployment.objects.filter(campaign=upload.campaign, instrument=event.channel.instrument, starts_at__lte=at)
    stay = stays.filter(Q(ends_at__isnull=True) | Q(ends_at__gte=at)).select_related("point__room").last()
    return event if stay is None else replace(event, point=stay.point)
