"""Are the results lognormal at all? A probability plot and the Shapiro-Wilk test of their logarithms."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from methods.quantities.arrays import Floats


@dataclass(frozen=True, slots=True)
class Plot:
    """Normal scores [n] (Blom), the sorted natural logarithms [n] to plot against them, and their correlation."""

    scores: Floats
    logs: Floats
    correlation: float


def probability_plot(values: Floats) -> Plot:
    """The points of a lognormal probability plot of ``values`` [n] above zero; on a line if they are lognormal."""
    scores, logs = _scores(len(values)), np.sort(np.log(values))
    return Plot(scores, logs, float(np.corrcoef(scores, logs)[0, 1]))


def _scores(n: int) -> Floats:
    return ndtri((np.arange(1, n + 1) - 0.375) / (n + 0.25))


def shapiro_wilk(x: Floats) -> tuple[float, float]:
    """W and its p-value for normality of ``x`` [n] (Royston 1995); give it logarithms to test for a lognormal.

    ValueError outside 3 to 5000 values, or where all are equal.
    """
    from scipy.stats import shapiro  # late: half a second to load, for one page

    if not 3 <= len(x) <= 5000:
        raise ValueError("the test holds for 3 to 5000 values")
    if float(np.ptp(x)) == 0.0:
        raise ValueError("all values are equal")
    found = shapiro(x)
    return float(found.statistic), float(found.pvalue)
