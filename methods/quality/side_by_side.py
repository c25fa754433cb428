"""Several meters in the same air at the same time: how far each is from all, and how far they are from each other.

The meters are compared over common steps of time, because none of them stores its values at the same moments.
Bias against the median of all (of two meters against the other one), and
the uncertainty between instruments u = √(Σ(y₁ − y₂)²/2n) (the guide to the
demonstration of equivalence of 2010, CEN/TS 17660; formula from memory). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from math import inf, sqrt

import numpy as np

from methods.averages.series import Series
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.uncertainty.budget import expanded

#: Fewer common steps tell nothing (project rule).
FEWEST_STEPS = 5
#: So much of a step must be measured for its mean to count, as of any window (docs/methods/averages.md).
SHARE_OF_STEP = 0.75


@dataclass(frozen=True, slots=True)
class Bias:
    """Of one meter against the median of all, of two against the other one: ``mean`` of its
    steps, ``bias``, its standard uncertainty ``u`` with
    ``dof`` degrees of freedom, in the unit of the readings; ``relative`` to the median of all,
    None where that is not above nothing."""

    mean: float
    bias: float
    u: float
    dof: float
    relative: float | None

    @property
    def expanded(self) -> float:
        """U, which covers 95 %."""
        return expanded(self.u, self.dof)


@dataclass(frozen=True, slots=True)
class Pair:
    """Places of two meters in the order they were passed, and the uncertainty between them."""

    first: int
    second: int
    u: float


@dataclass(frozen=True, slots=True)
class MetersCompared:
    """``steps``: how many common ones of ``step_ms``; ``median``: mean of the medians of all meters; ``biases`` in the
    order of the meters; ``between``: u of all pairs together."""

    step_ms: int
    steps: int
    median: float
    biases: tuple[Bias, ...]
    pairs: tuple[Pair, ...]
    between: float

    @property
    def between_relative(self) -> float | None:
        return self.between / self.median if self.median > 0 else None


def common_step(series: Sequence[Series]) -> int:
    """The longest logging interval, at least a minute; ms."""
    return max([MINUTE_MS, *(each.interval_ms for each in series)])


def common_steps(series: Sequence[Series], step_ms: int) -> Floats:
    """Means [meters, steps] over the steps in which every meter measured; the steps are those of the common clock.

    ValueError for fewer than two meters.
    """
    if len(series) < 2:
        raise ValueError("side by side stand at least two")
    means = [_means(each, step_ms) for each in series]
    common = means[0][0]
    for steps, _ in means[1:]:
        common = np.intersect1d(common, steps, assume_unique=True)
    return np.stack([values[np.searchsorted(steps, common)] for steps, values in means])


def _means(series: Series, step_ms: int) -> tuple[Ints, Floats]:
    """Numbers of the steps that are measured well enough, ascending, and the means over them, weighted by time. A
    reading belongs to the step that holds the middle of what it stands for."""
    cells = series.cells
    length = (cells.hi - cells.lo).astype(np.float64)
    steps, at = np.unique((cells.lo + cells.hi) // 2 // step_ms, return_inverse=True)
    weight = np.bincount(at, weights=length, minlength=len(steps))
    total = np.bincount(at, weights=length * cells.value, minlength=len(steps))
    enough = weight >= SHARE_OF_STEP * step_ms
    return steps[enough], total[enough] / weight[enough]


def side_by_side(series: Sequence[Series], step_ms: int | None = None) -> MetersCompared | None:
    """Of meters in the same air, their readings in one unit; None where fewer than ``FEWEST_STEPS`` are common.

    ``step_ms``: as of ``common_step`` where not said. ValueError for fewer than two meters.
    """
    step_ms = step_ms or common_step(series)
    return of_steps(common_steps(series, step_ms), step_ms)


def of_steps(values: Floats, step_ms: int) -> MetersCompared | None:
    """The same of means [meters, steps] over common steps."""
    if values.shape[1] < FEWEST_STEPS:
        return None
    medians = np.median(values, axis=0)
    median = float(medians.mean())
    pairs = tuple(Pair(a, b, between_instruments(values[a], values[b])) for a, b in combinations(range(len(values)), 2))
    return MetersCompared(
        step_ms=step_ms,
        steps=values.shape[1],
        median=median,
        biases=tuple(
            _bias(each, against, median) for each, against in zip(values, _held_against(values, medians), strict=True)
        ),
        pairs=pairs,
        between=sqrt(sum(pair.u**2 for pair in pairs) / len(pairs)),
    )


def _held_against(values: Floats, medians: Floats) -> Floats:
    """Of each meter [meters, steps]. The median of two is their mean, which hides half of what they differ by."""
    return values[::-1] if len(values) == 2 else np.broadcast_to(medians, values.shape)


def between_instruments(first: Floats, second: Floats) -> float:
    """u = √(Σ(y₁ − y₂)²/2n) of paired values [n]. ValueError for none."""
    if not len(first):
        raise ValueError("no pairs")
    return float(np.sqrt(np.mean((first - second) ** 2) / 2))


def _bias(values: Floats, against: Floats, median: float) -> Bias:
    differences = values - against
    bias = float(differences.mean())
    independent = _independent(differences)
    u = float(differences.std(ddof=1)) / sqrt(independent)
    dof = max(independent - 1, 1.0) if u > 0 else inf
    return Bias(float(values.mean()), bias, u, dof, bias / median if median > 0 else None)


def _independent(values: Floats) -> float:
    """How many independent values carry as much: n(1 − r)/(1 + r) of the autocorrelation r from one to the next, where
    that is positive (common practice, no source); at least 2."""
    n, rest = len(values), values - values.mean()
    square = float(rest @ rest)
    r = float(rest[1:] @ rest[:-1]) / square if square > 0 else 0.0
    return max(n * (1 - r) / (1 + r), 2.0) if r > 0 else float(n)
