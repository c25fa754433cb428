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
import numpy.typing as npt

from campaigns.models import Campaign, Channel, Deployment
from campaigns.stamps import utc_ms
from readings.flags import EXCLUDES
from readings.queries import Placed, placed_in
from reports.thinning import broken, thin

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

#: More than a screen has columns.
USUAL_BINS = 500
#: A line is drawn across a missing reading, and breaks at a longer gap.
BRIDGED_INTERVALS = 2


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
    found = placed_in(campaign, parameter=parameter, deployments=list(deployments))
    return [cut for placed in found if (cut := _cut(placed, low, high, bins)) is not None]


def _cut(placed: Placed, low: int | None, high: int | None, bins: int) -> Thinned | None:
    begin = utc_ms(placed.deployment.starts_at)
    last = int(placed.utc_ms[-1]) + 1
    end = utc_ms(placed.deployment.ends_at) if placed.deployment.ends_at else last
    begin, end = max(begin, low or begin), min(end, high or end)
    if end <= begin:
        return None
    counts = np.isfinite(placed.value) & ((placed.flags & int(EXCLUDES)) == 0)
    kept = thin(placed.utc_ms, placed.value, counts, start_ms=begin, end_ms=end, bins=bins)
    if not len(kept):
        return None
    return Thinned(
        deployment=placed.deployment,
        channel=placed.channel,
        interval_ms=placed.interval_ms,
        start_ms=begin,
        end_ms=end,
        reading_count=int(np.diff(np.searchsorted(placed.utc_ms, [begin, end]))[0]),
        utc_ms=placed.utc_ms[kept],
        value=placed.value[kept],
        flags=placed.flags[kept],
        broken=broken(placed.utc_ms, kept, BRIDGED_INTERVALS * placed.interval_ms),
    )
