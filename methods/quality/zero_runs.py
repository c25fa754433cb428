"""The detection limit of one meter, from its own readings of zero air.

t₀.₉₉ · s of repeated readings of a blank (40 CFR 136 Appendix B; from memory: at least seven). The step of the display
is the floor: a run that shows one value all through proves no smaller limit than that. Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

import numpy as np
from scipy.stats import t

from methods.quantities.arrays import Floats
from methods.uncertainty.noise import effective_n

FEWEST_READINGS = 7
#: A mean is beyond its tolerance where it is so by this many of its standard uncertainties.
BEYOND = 2.0
PROBABILITY = 0.99


class DetectionRule(StrEnum):
    """Which of the two rules gave the limit."""

    SCATTER = "scatter"
    STEP = "step"


@dataclass(frozen=True, slots=True)
class DetectionLimit:
    """``value``, ``mean`` and ``s`` in the unit of the readings, of which there are ``n``; ``dof``: degrees of freedom
    of ``s``, one less for each run."""

    value: float
    rule: DetectionRule
    mean: float
    s: float
    n: int
    dof: int


def factor(dof: int) -> float:
    """Student's t that 99 % lie below, one-sided: 3.1427 for seven readings."""
    return float(t.ppf(PROBABILITY, dof))


def detection_limit(runs: Sequence[Floats], step: float) -> DetectionLimit | None:
    """Of the readings of one or more zero runs, and the ``step`` of the display, all in one unit; None for fewer than
    ``FEWEST_READINGS``. The scatter is that within the runs: a zero that was set between them is no noise."""
    runs = [run for run in runs if len(run) > 1]
    n = sum(len(run) for run in runs)
    if n < FEWEST_READINGS:
        return None
    dof = n - len(runs)
    s = sqrt(sum(float(((run - run.mean()) ** 2).sum()) for run in runs) / dof)
    of_scatter = factor(dof) * s
    rule = DetectionRule.SCATTER if of_scatter >= step else DetectionRule.STEP
    return DetectionLimit(max(of_scatter, step), rule, float(np.concatenate(runs).mean()), s, n, dof)


def zero_off(run: Floats, tolerance: float | None, rho: float = 0.0) -> float | None:
    """The mean of ``run``, readings of zero air, where it is surely further from zero than ``tolerance``: by more than
    twice s/√n_eff (project rule); else None, as for fewer than ``FEWEST_READINGS`` and where no tolerance is known.
    ``rho``: autocorrelation from one reading to the next, 0 up to 1."""
    if tolerance is None or len(run) < FEWEST_READINGS:
        return None
    mean = float(run.mean())
    u = float(run.std(ddof=1)) / sqrt(effective_n(len(run), rho))
    return mean if abs(mean) - BEYOND * u > tolerance * (1 + 1e-9) + 1e-12 else None
