"""Where one visit ends and the next begins, proposed from the log alone: for days on which nobody kept times.

Proposed, never applied (docs/methods/placing.md). The number of visits is known from the plan, so the best division of
the log into that many stretches of steady level is found exactly, by least squares. (The penalty of a method that finds
the number itself, such as PELT, would have to be tuned to each meter's noise.)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from methods.clock import bursts
from methods.placing.placing import typical_interval_ms
from methods.quantities.arrays import Floats, Ints
from methods.quantities.digits import in_digits
from methods.quantities.durations import MINUTE_MS

#: Above this many readings they are first looked at in blocks; the boundaries are then set to the reading.
MOST_BLOCKS = 1_200
WEAK_BELOW = 3.0


class NoProposal(ValueError):
    """The log cannot carry that many visits. The message is for people."""


@dataclass(frozen=True, eq=False)
class Proposal:
    """``visits`` (k, 2): UTC ms of start and end, half-open, in the planned order.

    ``by``: pauses of the log, where there are as many bursts as visits, else changes of level. ``steps`` (k − 1,): how
    many standard deviations of the noise the level changes by at each boundary; NaN for pauses.
    """

    visits: Ints
    by: Literal["pauses", "levels"]
    steps: Floats

    @property
    def weak(self) -> Ints:
        """Indices of boundaries at which the level changes by less than 3 standard deviations: look at these."""
        return np.flatnonzero(self.steps < WEAK_BELOW)


def propose_visits(utc_ms: npt.ArrayLike, values: npt.ArrayLike, count: int, least_ms: int = 180_000) -> Proposal:
    """Boundaries for ``count`` visits in a log: times (n,) increasing, values (n,) or (n, channels).

    Each visit gets at least ``least_ms``. Readings without a value are left out. Raises :class:`NoProposal`.
    """
    times, table = _usable(utc_ms, values)
    interval = typical_interval_ms(times)
    if count < 1 or interval is None:
        raise NoProposal("There are no readings, or no visits, to propose boundaries for.")
    pauses = bursts(times, interval)
    if len(pauses) == count:
        return Proposal(pauses, "pauses", np.full(count - 1, np.nan))
    least = max(2, -(-least_ms // interval))
    if len(times) < count * least:
        raise NoProposal(
            f"{len(times)} readings are too few for {count} visits of at least "
            f"{in_digits(least * interval / MINUTE_MS)} min."
        )
    firsts = change_points(table, count - 1, least)
    starts = times[[0, *firsts]]
    visits = np.column_stack((starts, [*starts[1:], times[-1] + interval])).astype(np.int64)
    return Proposal(visits, "levels", _steps(table, firsts))


def change_points(values: npt.ArrayLike, count: int, least: int = 2) -> list[int]:
    """The ``count`` indices at which a new level begins, best by least squares, each level at least ``least`` long.

    An index is that of the first reading of the new level: for the Nile (N-01) 28, the year 1899 (N-05).
    values (n,) or (n, channels), finite. Raises :class:`NoProposal` if they are too few.
    """
    table = _columns(values)
    size = -(-len(table) // MOST_BLOCKS)
    # blocks should be fine enough that a shortest visit holds a few, as far as the square of their number allows
    size = max(1, min(size, least // 3), -(-len(table) // (2 * MOST_BLOCKS)))
    blocks = table[: len(table) // size * size].reshape(-1, size, table.shape[1]).mean(axis=1)
    points = [size * first for first in _best_division(blocks, count, -(-least // size))]
    return points if size == 1 else _refined(table, points, size, least)


def _usable(utc_ms: npt.ArrayLike, values: npt.ArrayLike) -> tuple[Ints, Floats]:
    """Readings with all values, each channel in units of its own noise."""
    times, table = np.asarray(utc_ms, dtype=np.int64), _columns(values)
    keep = np.isfinite(table).all(axis=1)
    table = table[keep]
    noise = np.array([_noise(column) for column in table.T])
    return times[keep], table / noise


def _columns(values: npt.ArrayLike) -> Floats:
    table = np.asarray(values, dtype=np.float64)
    return table[:, None] if table.ndim == 1 else table


def _noise(column: Floats) -> float:
    """Standard deviation of the noise, from differences of neighbours: changes of level are too few to matter."""
    steps = np.abs(np.diff(column))
    robust = float(np.median(steps)) * 1.4826 / 2**0.5 if steps.size else 0.0
    # a coarse meter repeats itself: then the spread of the steps that there are
    return robust or (float(np.std(steps)) if steps.size else 0.0) or 1.0


def _costs(table: Floats) -> Floats:
    """(n + 1, n + 1): sum of squares about the mean of rows s ≤ i < t; infinite unless s < t."""
    n = len(table)
    sums = np.vstack((np.zeros(table.shape[1]), np.cumsum(table - table.mean(axis=0), axis=0)))
    squares = np.concatenate(([0.0], np.cumsum(((table - table.mean(axis=0)) ** 2).sum(axis=1))))
    length = np.arange(n + 1)[None, :] - np.arange(n + 1)[:, None]
    between = sum((column[None, :] - column[:, None]) ** 2 for column in sums.T)
    costs: Floats = squares[None, :] - squares[:, None] - between / np.maximum(length, 1)
    costs[length < 1] = np.inf
    return costs


def _best_division(table: Floats, count: int, least: int) -> list[int]:
    """Exact, by dynamic programming: best cost of the first t rows in j levels, for all t and j."""
    n = len(table)
    if n < (count + 1) * least:
        raise NoProposal(f"{n} readings are too few for {count + 1} levels of at least {least}.")
    costs = _costs(table)
    short = np.arange(n + 1)[None, :] - np.arange(n + 1)[:, None] < least
    costs[short] = np.inf
    best, came = costs[0], []
    for _ in range(count):
        options = best[:, None] + costs
        came.append(np.argmin(options, axis=0))
        best = options[came[-1], np.arange(n + 1)]
    at, divisions = n, []
    for step in reversed(came):
        at = int(step[at])
        divisions.append(at)
    return divisions[::-1]


def _refined(table: Floats, firsts: list[int], size: int, least: int) -> list[int]:
    """Each boundary moved to the reading, between its neighbours."""
    edges = [0, *firsts, len(table)]
    for k in range(1, len(edges) - 1):
        low = max(edges[k - 1], edges[k] - 3 * size - least)
        high = min(edges[k + 1], edges[k] + 3 * size + least)
        window = table[low:high]
        head = np.cumsum(window, axis=0)[:-1]
        lengths = np.arange(1, len(window))[:, None]
        gain = (head**2 / lengths + (window.sum(axis=0) - head) ** 2 / (len(window) - lengths)).sum(axis=1)
        at = low + np.arange(1, len(window))
        near = (np.abs(at - edges[k]) <= 2 * size) & (at - edges[k - 1] >= least) & (edges[k + 1] - at >= least)
        if near.any():
            edges[k] = int(at[near][np.argmax(gain[near])])
    return edges[1:-1]


def _steps(table: Floats, firsts: list[int]) -> Floats:
    """Change of level at each boundary in standard deviations of the noise, the largest of the channels."""
    means = np.array([part.mean(axis=0) for part in np.split(table, firsts)])
    steps: Floats = np.abs(np.diff(means, axis=0)).max(axis=1, initial=0.0)
    return steps
