"""How much of a set of bursts falls on deployments when all are shifted by d: exact, and fast for 10,000 × 10,000.

F(d) = Σ overlap(burst + d, deployments) is piecewise linear in d. Between its knots (differences of an edge of a
deployment and an edge of a burst) it is swept exactly. Where there are too many pairs to sweep the whole window, a
binned cross-correlation first says around which few shifts it is worth sweeping.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from methods.quantities.arrays import Floats, Ints

SWEEP_ALL_BELOW = 400_000  # pairs
MOST_BINS = 1 << 21
PEAKS = 6
BINS_PER_BURST = 30
MOST_MARGIN_MS = 180_000  # the best start-to-start shift may lie this far, or one burst, from the correlation's top


@dataclass(frozen=True)
class Spans:
    """Half-open spans of time, shape (n, 2), ms. Overlapping ones count as often as they overlap."""

    edges: Ints

    @cached_property
    def knots(self) -> Ints:
        return np.unique(self.edges)

    @cached_property
    def _slopes(self) -> Ints:
        """How many spans cover the stretch after each knot, shape (k,)."""
        change = np.zeros(self.knots.shape, dtype=np.int64)
        np.add.at(change, np.searchsorted(self.knots, self.edges[:, 0]), 1)
        np.add.at(change, np.searchsorted(self.knots, self.edges[:, 1]), -1)
        return np.cumsum(change)

    @cached_property
    def _areas(self) -> Ints:
        return np.concatenate(([0], np.cumsum(self._slopes[:-1] * np.diff(self.knots))))

    def covered(self, until: Ints) -> Ints:
        """Covered time up to each moment, ms."""
        return np.rint(np.interp(until, self.knots, self._areas)).astype(np.int64)

    def depth(self, at: Ints) -> Ints:
        """How many spans cover the stretch that begins at each moment."""
        return np.concatenate(([0], self._slopes))[np.searchsorted(self.knots, at, side="right")]

    def union(self) -> Spans:
        """The same time, each moment counted once."""
        inside = self._slopes > 0
        starts = inside & ~np.concatenate(([False], inside[:-1]))
        ends = ~inside & np.concatenate(([False], inside[:-1]))
        return Spans(np.column_stack((self.knots[starts], self.knots[ends])))


def placed_by(bursts: Spans, deployments: Spans, offset_ms: int) -> int:
    """Number of bursts that lie by more than half inside ``deployments`` (a union) when shifted."""
    starts, ends = (bursts.edges + offset_ms).T
    inside = deployments.covered(ends) - deployments.covered(starts)
    return int(np.count_nonzero(2 * inside > ends - starts))


def best_candidates(
    bursts: Spans, deployments: Spans, starts: Ints, window_ms: int, apart_ms: int
) -> tuple[Ints, Ints]:
    """Shifts (deployment start − burst start) within ±window and F at each: all of them, or those around the peaks.

    ``deployments`` is a union, ``starts`` are the starts before it was made, sorted.
    """
    pairs = _count(bursts.edges[:, 0], starts, -window_ms, window_ms)
    if pairs <= SWEEP_ALL_BELOW:
        return _sweep(bursts, deployments, starts, -window_ms, window_ms)
    candidates = [
        _sweep(bursts, deployments, starts, max(low, -window_ms), min(high, window_ms))
        for low, high in _peaks(bursts, deployments, window_ms, apart_ms)
    ]
    shifts, first = np.unique(np.concatenate([shifts for shifts, _ in candidates]), return_index=True)
    return shifts, np.concatenate([overlaps for _, overlaps in candidates])[first]


def _within(sources: Ints, targets: Ints, low: int, high: int) -> tuple[Ints, Ints]:
    left = np.searchsorted(targets, sources + low, side="left")
    return left, np.searchsorted(targets, sources + high, side="right") - left


def _count(sources: Ints, targets: Ints, low: int, high: int) -> int:
    return int(_within(sources, targets, low, high)[1].sum())


def _differences(sources: Ints, targets: Ints, low: int, high: int) -> Ints:
    """Every target − source within [low, high]; ``targets`` sorted."""
    left, counts = _within(sources, targets, low, high)
    before = np.cumsum(counts) - counts
    which = np.arange(int(counts.sum())) + np.repeat(left - before, counts)
    differences: Ints = targets[which] - np.repeat(sources, counts)
    return differences


def _sweep(bursts: Spans, deployments: Spans, starts: Ints, low: int, high: int) -> tuple[Ints, Ints]:
    """Candidates in [low, high], increasing, and F at each: F(low), its slope there, then knot by knot."""
    begin, end = bursts.edges[:, 0], bursts.edges[:, 1]
    candidates = np.unique(_differences(begin, starts, low, high))
    opens, closes = deployments.edges[:, 0], deployments.edges[:, 1]
    parts = [
        (_differences(source, target, low + 1, high), sign)
        for source, target, sign in ((end, opens, 1), (end, closes, -1), (begin, opens, -1), (begin, closes, 1))
    ]
    knots = np.concatenate([[low], *(knots for knots, _ in parts)])
    signs = np.concatenate([[0], *(np.full(knots.shape, sign) for knots, sign in parts)])
    order = np.argsort(knots, kind="stable")
    knots, signs = knots[order].astype(np.int64), signs[order].astype(np.int64)
    slope = int(deployments.depth(end + low).sum() - deployments.depth(begin + low).sum())
    slopes = slope + np.cumsum(signs)
    value = int(deployments.covered(end + low).sum() - deployments.covered(begin + low).sum())
    values = value + np.concatenate(([0], np.cumsum(slopes[:-1] * np.diff(knots))))
    at = np.searchsorted(knots, candidates, side="right") - 1
    return candidates, values[at] + slopes[at] * (candidates - knots[at])


def _peaks(bursts: Spans, deployments: Spans, window_ms: int, apart_ms: int) -> list[tuple[int, int]]:
    """Stretches of shift around the highest values of the binned correlation, at least ``apart_ms`` from each other."""
    origin, last = int(bursts.knots[0]), int(bursts.knots[-1])
    burst = int(np.median(bursts.edges[:, 1] - bursts.edges[:, 0]))
    step = max(1_000, burst // BINS_PER_BURST, -(-(last - origin + 2 * window_ms) // (MOST_BINS - 4)))
    lags = -(-window_ms // step)
    width = -(-(last - origin) // step)
    grid = origin + step * np.arange(-lags, width + lags + 1, dtype=np.int64)
    wanted = np.diff(deployments.covered(grid)).astype(np.float64)
    logged = np.diff(bursts.covered(grid[lags : lags + width + 1])).astype(np.float64)
    size = 1 << (len(wanted) - 1).bit_length()
    spectrum = np.fft.rfft(wanted, size) * np.conj(np.fft.rfft(logged, size))
    height: Floats = np.rint(np.fft.irfft(spectrum, size)[: 2 * lags + 1] / step)  # rounding noise must not pick a top
    shifts = step * np.arange(-lags, lags + 1)
    margin = 2 * step + min(MOST_MARGIN_MS, burst)
    stretches = []
    for _ in range(PEAKS):
        top = int(shifts[np.argmax(height)])
        stretches.append((top - margin, top + margin))
        height[np.abs(shifts - top) <= max(apart_ms, step)] = -np.inf
    return stretches
