"""Few points for a figure of many readings: the one door to "these deployments between two times, at so many bins".

    for one in thinned(campaign, deployments, parameter="formaldehyde", start=t0, end=t1, bins=500):
        ...                                     # one deployment and channel, corrected, at most 4 x 500 readings

What comes back are readings themselves (time, corrected value, flags), not means: the lowest and the highest of each
bin, of those that count and of those that do not. ``broken`` says before which points the line breaks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from campaigns.models import Campaign, Channel, Deployment
from methods.figures.thinning import broken, thin
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.flags import EXCLUDES
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.moments import utc_ms
from readings.queries import Few, Placed, few_in

#: More than a screen has columns.
USUAL_BINS = 500


@dataclass(frozen=True, eq=False)
class Thinned:
    """Readings of one deployment and channel; arrays (k,) in UTC order, values corrected, in the channel's unit.

    ``start_ms`` ≤ t < ``end_ms`` is the part of the deployment that was asked for (an open deployment ends after its
    last reading), ``reading_count`` how many readings lie in it. ``broken``: before this point the line breaks.
    """

    deployment: Deployment
    channel: Channel
    interval_ms: int
    start_ms: int
    end_ms: int
    reading_count: int
    utc_ms: Ints
    value: Floats
    flags: Ints
    broken: Bools

    @property
    def counts(self) -> Bools:
        """Which enter a mean."""
        there: Bools = np.isfinite(self.value) & ((self.flags & int(EXCLUDES)) == 0)
        return there


def thinned(
    campaign: Campaign,
    deployments: Iterable[Deployment],
    *,
    parameter: str | Collection[str],
    start: datetime | None = None,
    end: datetime | None = None,
    bins: int = USUAL_BINS,
) -> list[Thinned]:
    """One entry per deployment (of the campaign) and channel of ``parameter``, one or several, with readings in
    [start, end)."""
    low, high = (utc_ms(t) if t else None for t in (start, end))
    cuts = few_in(campaign, list(deployments), parameter, start, end)
    return [cut for some in cuts if (cut := _cut(some, low, high, bins)) is not None]


def _cut(some: Placed | Few, low: int | None, high: int | None, bins: int) -> Thinned | None:
    begin = utc_ms(some.deployment.starts_at)
    last = (some.last_ms if isinstance(some, Few) else int(some.utc_ms[-1])) + 1
    end = utc_ms(some.deployment.ends_at) if some.deployment.ends_at else last
    begin, end = max(begin, low or begin), min(end, high or end)
    if end <= begin:
        return None
    counts = np.isfinite(some.value) & ((some.flags & int(EXCLUDES)) == 0)
    drawn = np.flatnonzero(some.drawn) if isinstance(some, Few) else np.arange(len(some))
    kept = drawn[thin(some.utc_ms[drawn], some.value[drawn], counts[drawn], start_ms=begin, end_ms=end, bins=bins)]
    if not len(kept):
        return None
    here = slice(*np.searchsorted(some.utc_ms, [begin, end]).tolist())
    gaps = some.gap_ms if isinstance(some, Few) else np.diff(some.utc_ms, prepend=some.utc_ms[:1])
    return Thinned(
        deployment=some.deployment,
        channel=some.channel,
        interval_ms=some.interval_ms,
        start_ms=begin,
        end_ms=end,
        reading_count=int(some.stands_for[here].sum()) if isinstance(some, Few) else here.stop - here.start,
        utc_ms=some.utc_ms[kept],
        value=some.value[kept],
        flags=some.flags[kept],
        broken=broken(gaps, kept, BRIDGED_INTERVALS * some.interval_ms),
    )
