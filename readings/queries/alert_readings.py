"""Readings as alert levels look at them: in their stays, and those that no stay holds yet."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

import numpy as np
from django.db.models import Max, Min

from campaigns.models import Campaign, Channel, Deployment
from methods.averages import Series
from methods.placing import OPEN_MS, UNPLACED, assign, typical_interval_ms
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.quantities.stamp_convention import StampConvention, alike
from readings.models import Upload
from readings.queries.clock_facts import Files, clock_of, times_of
from readings.queries.placed import Placed, placed_in
from readings.queries.rows import Rows, in_file_order, rows

STORED = int(Flag.BELOW_DETECTION | Flag.OVER_RANGE | Flag.SENSOR_ERROR)


@dataclass(frozen=True, eq=False)
class AlertReadings:
    """Readings (n,) of one channel by UTC, of one stay, or of none (``deployment`` None) as far as the campaign's files
    hold them. ``raw`` and ``stored`` as the logger stored them; ``value`` and ``flags`` corrected, None without a stay.
    """

    channel: Channel
    deployment: Deployment | None
    interval_ms: int
    represents: StampConvention
    utc_ms: Ints
    stamp: Ints
    upload_id: Ints
    line: Ints
    raw: Floats
    stored: Ints
    value: Floats | None = None
    flags: Ints | None = None

    @property
    def as_stored(self) -> Series:
        """What the logger stored, whatever is known against it."""
        return self._series(self.raw, self.stored)

    @property
    def as_corrected(self) -> Series | None:
        if self.value is None or self.flags is None:
            return None
        return self._series(self.value, self.flags)

    def _series(self, value: Floats, flags: Ints) -> Series:
        start, end = int(self.utc_ms[0]) - self.interval_ms, int(self.utc_ms[-1]) + self.interval_ms
        return Series(self.utc_ms, value, flags.astype(np.int16), self.interval_ms, start, end, self.represents)


def alert_readings(campaign: Campaign, parameters: Collection[str]) -> Iterator[AlertReadings]:
    """All readings of these ``parameters``: stay by stay, then what the campaign's files hold outside every stay of
    their instrument. What lies in a stay of another campaign is that one's. None of them is empty."""
    for placed in placed_in(campaign, parameter=parameters):
        yield _of_stay(placed)
    yield from _without_stay(campaign, parameters)


def _of_stay(placed: Placed) -> AlertReadings:
    return AlertReadings(
        placed.channel, placed.deployment, placed.interval_ms, placed.represents, placed.utc_ms, placed.stamp,
        placed.upload_id, placed.line, placed.raw, placed.flags & STORED, placed.value, placed.flags,
    )  # fmt: skip


def _without_stay(campaign: Campaign, parameters: Collection[str]) -> Iterator[AlertReadings]:
    files = campaign.uploads.exclude(state=Upload.State.WITHDRAWN).filter(
        instrument__isnull=False, first_stamp_ms__isnull=False
    )
    spans = files.values("instrument").annotate(low=Min("first_stamp_ms"), high=Max("last_stamp_ms")).order_by()
    reach = {row["instrument"]: (row["low"], row["high"]) for row in spans}
    own = set(files.values_list("pk", flat=True))
    channels = Channel.objects.filter(instrument__in=reach, spec__parameter__in=parameters)
    for channel in channels.select_related("spec", "instrument__type").order_by("instrument", "pk"):
        stored = rows(channel.pk, *reach[channel.instrument_id])
        stored = in_file_order(stored[np.isin(stored["upload_id"], list(own))])
        if len(stored) and (found := _outside(campaign, channel, stored)) is not None:
            yield found


def _outside(campaign: Campaign, channel: Channel, stored: Rows) -> AlertReadings | None:
    """Those of ``stored``, which are in file order, that lie in no deployment of the instrument."""
    instrument = channel.instrument
    files = Files.of(Upload.objects.filter(instrument=instrument).values_list(*Files.ASKED))
    utc, _ = times_of(stored, clock_of(instrument, campaign.site), files)
    conventions = files.conventions(stored["upload_id"], instrument)
    interval = typical_interval_ms(np.sort(utc)) or MINUTE_MS
    stays = Deployment.objects.filter(instrument=instrument).values_list("starts_at", "ends_at")
    starts, ends = [utc_ms(start) for start, _ in stays], [utc_ms(end) if end else OPEN_MS for _, end in stays]
    outside = assign(utc, starts, ends, conventions, interval) == UNPLACED
    if not outside.any():
        return None
    represents, utc = alike(
        utc[outside], conventions if isinstance(conventions, str) else conventions[outside], interval
    )
    order = np.argsort(utc, kind="stable")
    stored = stored[outside][order]
    return AlertReadings(
        channel, None, interval, represents, utc[order], stored["stamp"], stored["upload_id"], stored["line"],
        stored["raw"], stored["flag"] & STORED,
    )  # fmt: skip
