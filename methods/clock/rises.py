"""What of a log is a sudden change: on a grid common to several logs, day by day, free of scale and small noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS

#: Means over this long are compared, or over the coarsest interval there is, up to ``COARSEST_MS``.
GRID_MS, COARSEST_MS = 5 * MINUTE_MS, 15 * MINUTE_MS
#: A change counts from so many times the usual change on, and not more than ``MOST`` times, so that no spike governs.
FROM, MOST = 1.0, 8.0
#: A room is quicker or slower than another by so much: a change is spread over its neighbours.
SPREAD = np.array([0.25, 0.5, 0.25])


@dataclass(frozen=True, eq=False)
class Rises:
    """``z`` (logs, days, bins): signed changes from bin to bin, in times the usual one, 0 where nothing happened."""

    z: Floats
    grid_ms: int


def rises_of(logs: Sequence[tuple[Ints, Floats]], edges: Ints) -> Rises | None:
    """``logs``: (UTC ms ascending, values) each; ``edges`` (D + 1,) of the days. None where fewer than two are fine
    enough; one that is too coarse stays still."""
    intervals = [float(np.median(np.diff(utc))) if len(utc) > 2 else np.inf for utc, _ in logs]
    fine = [interval for interval in intervals if interval <= COARSEST_MS]
    if len(fine) < 2:
        return None
    grid = max(GRID_MS, -(-int(max(fine)) // MINUTE_MS) * MINUTE_MS)
    bins = -(-int(np.diff(edges).max()) // grid)
    z = np.zeros((len(logs), len(edges) - 1, bins))
    for k, (utc, values) in enumerate(logs):
        if intervals[k] <= COARSEST_MS:
            z[k] = _changes(utc, values, edges, bins, grid)
    return Rises(z, grid)


def _changes(utc: Ints, values: Floats, edges: Ints, bins: int, grid: int) -> Floats:
    day = np.searchsorted(edges, utc, side="right") - 1
    known = (day >= 0) & (day < len(edges) - 1) & np.isfinite(values)
    cell = day[known] * bins + (utc[known] - edges[day[known]]) // grid
    count = np.bincount(cell, minlength=(len(edges) - 1) * bins)
    with np.errstate(invalid="ignore"):
        means = np.bincount(cell, values[known], minlength=count.size) / count
    change = np.diff(means.reshape(-1, bins), axis=1, prepend=np.nan)
    seen = np.abs(change[np.isfinite(change)])
    moved = seen[seen > 0]
    if not moved.size:
        return np.zeros_like(change)
    usual = max(1.4826 * float(np.median(seen)), 0.5 * float(moved.min()))
    times = np.nan_to_num(change / usual)
    sudden = np.sign(times) * np.clip(np.abs(times) - FROM, 0.0, MOST - FROM)
    return np.apply_along_axis(np.convolve, 1, sudden, SPREAD, mode="same")
