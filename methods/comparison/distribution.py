"""How readings are distributed, those below detection among them: quantiles, histogram, cumulative share. Pure.

A reading below detection is somewhere under its limit. It is counted and never given a number of its own: what depends
on where it lies is said to be "below" the highest such limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from methods.quantities.arrays import Bools, Floats

MOST_BINS, LEAST_BINS = 40, 8
#: Readings that differ by less of themselves are one value: beyond that, numbers have no digits for edges between them.
ALIKE, TINY = 1e-9, 1e-200
#: Points of a cumulative line: each stands for no more than a quarter of a per cent of the readings.
MOST_STEPS = 400


@dataclass(frozen=True, eq=False)
class PlaceSample:
    """Counted readings of one place. ``value`` [n] finite, a reading below detection at its limit; ``below`` [n] which
    those are. ValueError for arrays of unequal length or values that are not finite."""

    label: str
    value: Floats
    below: Bools

    def __post_init__(self) -> None:
        if self.value.shape != self.below.shape or self.value.ndim != 1:
            raise ValueError("values and what is below detection must be one-dimensional and of equal length")
        if not np.isfinite(self.value).all():
            raise ValueError("a distribution is of readings that have a value")

    def __len__(self) -> int:
        return len(self.value)

    @property
    def floor(self) -> float | None:
        """The highest limit of detection a reading lies below: beneath it the order of readings is not known."""
        return float(self.value[self.below].max()) if self.below.any() else None

    @property
    def hidden(self) -> Bools:
        """[n] readings whose place in the order is not known: below detection, or measured beneath ``floor``."""
        floor = self.floor
        out: Bools = self.below.copy() if floor is None else self.below | (self.value < floor)
        return out


@dataclass(frozen=True, slots=True)
class Quantile:
    """``value``; where ``is_below``, the true quantile is somewhere under it."""

    value: float
    is_below: bool


def quantile(sample: PlaceSample, q: float) -> Quantile:
    """The quantile ``q`` (0 to 1) by linear interpolation between neighbours (numpy's and scipy's usual one).

    Among readings below detection it is "below" the highest of their limits, and between the last of them and the
    first that is not, "below" what the line between the two gives. ValueError without readings.
    """
    if not len(sample):
        raise ValueError("no readings, no quantile")
    hidden = int(np.count_nonzero(sample.hidden))
    raised = np.where(sample.hidden, sample.floor or 0.0, sample.value) if hidden else sample.value
    return Quantile(float(np.quantile(raised, q)), is_below=int(q * (len(sample) - 1)) < hidden)


@dataclass(frozen=True, eq=False)
class Histogram:
    """Shares of all readings of each sample: ``shares`` [samples, bins] between ``edges`` [bins + 1] and ``hidden``
    [samples], the share under ``floor`` (None where nothing is below detection)."""

    edges: Floats
    shares: Floats
    hidden: Floats
    floor: float | None


def histogram(samples: Sequence[PlaceSample], *, is_log: bool = False, step: float | None = None) -> Histogram:
    """One set of bins for all samples, at most ``MOST_BINS``; the bins of each sample and its hidden share sum to 1.

    ``step``: the resolution of the readings, of which a bin is a whole multiple, so that no bin is empty only because
    no value can fall into it. ValueError without readings, or for a logarithmic axis with values that are not positive.
    """
    floors = [sample.floor for sample in samples if sample.floor is not None]
    floor = max(floors) if floors else None
    shown = [s.value[~(s.below | (s.value < floor))] if floor is not None else s.value for s in samples]
    known = np.concatenate(shown) if shown else np.zeros(0)
    if not sum(len(s) for s in samples):
        raise ValueError("no readings, no histogram")
    if not len(known):
        assert floor is not None
        known = np.array([floor])
    edges = _log_edges(known) if is_log else _edges(known, step)
    counts = np.array([np.histogram(values, edges)[0] for values in shown], dtype=np.float64)
    sizes = np.array([max(len(s), 1) for s in samples], dtype=np.float64)
    hidden = np.array([(len(s) - len(values)) / size for s, values, size in zip(samples, shown, sizes, strict=True)])
    return Histogram(edges, counts / sizes[:, None], hidden, floor)


def _edges(known: Floats, step: float | None) -> Floats:
    """Edges at whole multiples of a width of 1, 2 or 5 times a power of ten, or of the resolution."""
    low, high = float(known.min()), float(known.max())
    # by the square root of their number (common practice); Freedman and Diaconis' width fails for stepped values
    wanted = min(MOST_BINS, max(LEAST_BINS, round(len(known) ** 0.5)))
    size = max(abs(low), abs(high))
    size = size if size > TINY else 0.0
    width = _round_up((high - low) / wanted if high - low > ALIKE * size > 0 else size / 10 or 1.0)
    if step:
        width = step * max(1, round(width / step))
    first = np.floor(low / width + 1e-9)
    n = int(np.floor(high / width + 1e-9) - first) + 1
    edges: Floats = width * (first + np.arange(n + 1)) - (step / 2 if step else 0.0)
    if edges[-1] <= high:
        edges = np.append(edges, edges[-1] + width)
    edges[0], edges[-1] = min(edges[0], low), max(edges[-1], high)  # multiples are rounded: a hair may be missing
    return edges


def _log_edges(known: Floats) -> Floats:
    low, high = float(known.min()), float(known.max())
    if low <= 0:
        raise ValueError("a logarithmic axis has no place for values that are not positive")
    n = min(MOST_BINS, max(LEAST_BINS, round(len(known) ** 0.5)))
    edges: Floats = np.geomspace(low, high if high > low else low * 1.1, n + 1)
    edges[0], edges[-1] = low, max(edges[-1], high)
    return edges


def _round_up(width: float) -> float:
    power = 10.0 ** np.floor(np.log10(width))
    return float(power * next(step for step in (1, 2, 5, 10) if step * power >= width * (1 - 1e-12)))


def cumulative(sample: PlaceSample, most: int = MOST_STEPS) -> tuple[Floats, Floats]:
    """(values [k], shares [k]): the share of all readings at or under each value, ascending, for at most ``most`` of
    them. It starts where the order is known: at the highest limit of detection with the share hidden under it."""
    hidden = sample.hidden
    values, counts = np.unique(sample.value[~hidden], return_counts=True)
    under = int(np.count_nonzero(hidden))
    shares = (under + np.cumsum(counts)) / max(len(sample), 1)
    if len(values) > most:
        kept = np.unique(np.linspace(0, len(values) - 1, most).astype(np.int64))
        values, shares = values[kept], shares[kept]
    if under and sample.floor is not None:
        values, shares = np.append(sample.floor, values), np.append(under / len(sample), shares)
    return values, shares


def share_above(sample: PlaceSample, at: float) -> tuple[float, float]:
    """Share of readings above ``at``: at least, at most. They differ where readings below a limit of detection that is
    higher than ``at`` may be on either side."""
    sure = np.count_nonzero(~sample.below & (sample.value > at))
    perhaps = np.count_nonzero(sample.below & (sample.value > at))
    n = max(len(sample), 1)
    return float(sure / n), float((sure + perhaps) / n)
