"""One instrument's log beside its deployments, as the page draws and lists it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np

from campaigns.models import Campaign, Channel, Deployment, Instrument, QualityRun
from methods.clock.zones import transitions
from methods.placing import OPEN_MS, Span, free_part, spans, trace
from methods.quantities.arrays import Indexes
from methods.quantities.durations import HOUR_MS
from methods.quantities.moments import utc_ms
from readings.queries.bursts import deployed, runs_in
from readings.queries.logged_series import Logged, logged

#: As many parts as a wide screen has columns to draw them.
COLUMNS = 1500
#: More stretches than anybody would look through are counted, not sent.
MOST_SPANS = 500


@dataclass(frozen=True)
class Burst:
    """``outside``: how many of its readings lie outside every deployment. ``free``: its longest such part, UTC ms."""

    span: Span
    outside: int
    free: tuple[int, int] | None


@dataclass(frozen=True, eq=False)
class TimelinePicture:
    """``own``: the deployments of the campaign. ``elsewhere``: where the instrument stood for other campaigns.
    ``runs``: quality runs it was in: what lies in them is in no deployment, and not missing in one."""

    campaign: Campaign
    logged: Logged
    own: list[Deployment]
    elsewhere: list[Deployment]
    runs: list[QualityRun] = field(default_factory=list)

    @property
    def stays(self) -> list[Deployment]:
        return [*self.own, *self.elsewhere]

    @cached_property
    def within(self) -> Indexes:
        return self.logged.within([*self.stays, *self.runs])

    @cached_property
    def counts(self) -> dict[int, int]:
        """Readings of each deployment, by its id."""
        counts = np.bincount(self.within[self.within >= 0], minlength=len(self.stays)).tolist()[: len(self.stays)]
        return {row.pk: count for row, count in zip(self.stays, counts, strict=True)}

    @cached_property
    def outside(self) -> list[Span]:
        return spans(self.logged.utc_ms, self.logged.interval_ms, self.within < 0)

    @cached_property
    def doubtful(self) -> list[Span]:
        return spans(self.logged.utc_ms, self.logged.interval_ms, self.logged.doubtful)

    @cached_property
    def bursts(self) -> list[Burst]:
        burst_spans = spans(self.logged.utc_ms, self.logged.interval_ms)
        before = np.concatenate(([0], np.cumsum(self.within < 0)))
        stops = np.cumsum([span.count for span in burst_spans], dtype=np.int64)
        there: list[Deployment | QualityRun] = [*self.stays, *self.runs]
        taken = [(utc_ms(row.starts_at), utc_ms(row.ends_at) if row.ends_at else OPEN_MS) for row in there]
        bursts = []
        for span, stop in zip(burst_spans, stops.tolist(), strict=True):
            outside = int(before[stop] - before[stop - span.count])
            bursts.append(Burst(span, outside, free_part((span.start_ms, span.end_ms), taken) if outside else None))
        return bursts

    @cached_property
    def extent(self) -> tuple[int, int]:
        """UTC ms: all that was logged and every deployment of the campaign, with a margin."""
        times = self.logged.utc_ms
        edges = [utc_ms(at) for d in self.own for at in (d.starts_at, d.ends_at) if at is not None]
        if len(times):
            edges += [int(times[0]), int(times[-1] + self.logged.interval_ms[-1])]
        if not edges:
            return 0, HOUR_MS
        low, high = min(edges), max(edges)
        margin = max((high - low) // 50, HOUR_MS // 12)
        return low - margin, high + margin

    def trace(self, low: int, high: int) -> list[list[float]]:
        gap = 3 * int(self.logged.interval_ms.max()) if len(self.logged) else HOUR_MS
        return trace(self.logged.utc_ms, self.logged.raw, low, high, COLUMNS, gap)

    @cached_property
    def offsets(self) -> tuple[list[int], list[int]]:
        """UTC ms of each change of the site's offset inside the extent, and the offsets in ms, one more."""
        low, high = self.extent
        table = transitions(self.campaign.site.time_zone, low, high)
        first, last = np.searchsorted(table.at, (low, high), side="right").tolist()
        return table.at[first:last].tolist(), table.offsets[first : last + 1].tolist()


def picture(campaign: Campaign, instrument: Instrument, channel: Channel) -> TimelinePicture:
    """``channel`` comes with its spec, instrument and type."""
    stays = deployed(instrument, campaign.site)
    own = [row for row in stays if row.campaign_id == campaign.pk]
    series = logged(channel, campaign, own)
    seen = TimelinePicture(campaign, series, own, [])
    low, high = seen.extent
    near = [d for d in stays if d.campaign_id != campaign.pk and _meets(d, low, high)]
    runs = [run for run in runs_in(instrument, campaign.site) if _meets(run, low, high)]
    return TimelinePicture(campaign, series, own, near, runs)


def _meets(row: Deployment | QualityRun, low: int, high: int) -> bool:
    return utc_ms(row.starts_at) < high and (row.ends_at is None or utc_ms(row.ends_at) > low)


def drawn(of: TimelinePicture) -> dict[str, Any]:
    """What the page's script draws: times in UTC ms."""
    at, offsets = of.offsets
    spec = of.logged.channel.spec
    return {
        "extent": of.extent,
        "offsets": {"at": at, "ms": offsets},
        "interval": of.logged.typical_ms,
        "unit": spec.unit,
        "parameter": spec.parameter_name,
        "trace": of.trace(*of.extent),
        "bursts": [[b.span.start_ms, b.span.end_ms, b.span.count, b.outside] for b in of.bursts[:MOST_SPANS]],
        "outside": [[s.start_ms, s.end_ms, s.count] for s in of.outside[:MOST_SPANS]],
        "doubtful": [[s.start_ms, s.end_ms, s.count] for s in of.doubtful[:MOST_SPANS]],
        "elsewhere": [*(_band(row) for row in of.elsewhere), *(_band(run) for run in of.runs)],
        "bands": [_band(row) for row in of.own],
    }


def _band(row: Deployment | QualityRun) -> dict[str, Any]:
    return {
        "key": str(row.key),
        "name": str(row.point if isinstance(row, Deployment) else row),
        "start": utc_ms(row.starts_at),
        "end": utc_ms(row.ends_at) if row.ends_at else None,
        "starts": row.starts_at.isoformat(),
        "ends": row.ends_at.isoformat() if row.ends_at else "",
    }
