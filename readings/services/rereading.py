"""Reading a file again, without storing anything, and holding what is stored of it against what it says."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from methods import logs
from methods.logs.types import Layout, Unreadable
from readings.models import AsideReading, Reading, Upload
from readings.services import column_channels
from readings.services.originals import OriginalMissing, local_copy
from readings.services.reading import CHUNK_ROWS, batches_of
from readings.store import Batch, StampCounts

#: (stamp, value or None, flag, line): what a reading says besides its channel and file.
Said = tuple[int, float | None, int, int]
SHOWN = 3  # readings that are named; the rest are counted


def rereadable() -> list[int]:
    """Ids of the uploads of which readings count, in the order in which they came."""
    read = Upload.objects.filter(stored__gt=0, layout__isnull=False, instrument__isnull=False)
    return list(read.exclude(state=Upload.State.WITHDRAWN).order_by("pk").values_list("pk", flat=True))


def differing_readings(upload: Upload) -> list[str]:
    """What is stored under ``upload`` and is not in its file, or is not there though it was counted: in words."""
    try:
        with local_copy(upload) as path:
            read = _read(upload, path)
    except (OriginalMissing, Unreadable) as error:
        return [str(error)]
    found, stored = [], 0
    for channel, rows in read.items():
        strange = []
        for said in _stored(upload, channel):
            stored += 1
            if said not in rows:
                strange.append(said)
        found += _told(channel, strange)
    if stored != upload.stored:
        found.append(f"{stored:,} readings are there of {upload.stored:,} that were stored from it.")
    return found


def _read(upload: Upload, path: Path) -> dict[int, set[Said]]:
    """By channel, all that the file says, with the layout it was stored with."""
    assert upload.instrument is not None
    layout = Layout.from_json(upload.settled or upload.layout)
    channels, _ = column_channels.match(layout, upload.instrument)
    repeats = [StampCounts() for _ in channels]
    found: dict[int, set[Said]] = defaultdict(set)
    try:
        for chunk in logs.read(path, layout, chunk_rows=CHUNK_ROWS):
            for batch in batches_of(upload, chunk, channels, repeats):
                found[batch.channel_id].update(_said(batch))
    except Unreadable:  # of a file that is damaged in its middle, what came before was stored
        if not found:
            raise
    # A channel that has become another's since still has its rows looked at: none of them is in the file.
    for pk in upload.instrument.channels.values_list("pk", flat=True):
        found.setdefault(pk, set())
    return found


def _said(batch: Batch) -> Iterator[Said]:
    raw = [None if empty else value for empty, value in zip(np.isnan(batch.raw), batch.raw.tolist(), strict=True)]
    return zip(batch.stamp.tolist(), raw, batch.flag.tolist(), batch.line.tolist(), strict=True)


def _stored(upload: Upload, channel: int) -> Iterator[Said]:
    """What counts of the file, and what of it was set aside."""
    columns = ("stamp", "raw", "flag", "line")
    reach = {"channel_id": channel, "upload_id": upload.pk}
    if upload.first_stamp_ms is not None and upload.last_stamp_ms is not None:
        reach["stamp__gte"], reach["stamp__lte"] = upload.first_stamp_ms, upload.last_stamp_ms
    yield from Reading.objects.filter(**reach).values_list(*columns).iterator(chunk_size=10_000)
    yield from AsideReading.objects.filter(**reach).values_list(*columns).iterator(chunk_size=10_000)


def _told(channel: int, strange: list[Said]) -> list[str]:
    lines = [f"line {line}: {raw} stored under {stamp}" for stamp, raw, _, line in strange[:SHOWN]]
    if not lines:
        return []
    more = f" and {len(strange) - SHOWN:,} more" if len(strange) > SHOWN else ""
    return [f"Channel {channel} has readings that the file has not: {'; '.join(lines)}{more}."]
