"""The noise of one meter, from stretches in which nothing real tells: zero air, or standing beside other meters.

In zero air the readings' own scatter is noise. Side by side the air may change, so the second differences speak
(docs/methods/uncertainty.md). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from methods.averages.series import Series
from methods.quantities.arrays import Floats
from methods.quantities.flags import Flag
from methods.uncertainty.noise import Noise, effective_n, noise_of

#: Fewer readings of zero air say nothing (as for a detection limit).
FEWEST_READINGS = 7
#: With fewer degrees of freedom in all runs of a kind too little is known of the noise (project rule).
FEWEST_DOF = 20.0
#: With a larger share of the readings at the lowest one the display may have a stop there, which hides noise: at
#: so many the standard deviation comes out 4 % too small (project rule). As many of half at the highest show none.
AT_STOP, AT_TOP = 0.05, 0.5


@dataclass(frozen=True, slots=True)
class RunNoise:
    """What one stretch shows, in the unit of its readings: variance, degrees of freedom, autocorrelation."""

    variance: float
    dof: float
    rho: float
    n: int


def in_zero_air(series: Series, step: float, t90_s: float | None) -> RunNoise | None:
    """None for too few readings; where all are the same, as rounding hides whatever noise there is; and where the
    display may not go lower."""
    values = series.value[series.usable]
    if len(values) < FEWEST_READINGS or not np.ptp(values) > 0 or _at_stop(values, step):
        return None
    shown = replace(series, flags=series.flags & ~np.int16(int(Flag.BELOW_DETECTION)))
    rho = noise_of(shown, step=step, t90_s=t90_s).rho
    independent = effective_n(len(values), rho)
    if independent < 2:
        return None
    # values differ from their own mean less than from the true one
    variance = float(values.var(ddof=0)) / (1 - 1 / independent)
    return RunNoise(variance, independent - 1, rho, len(values))


def _at_stop(values: Floats, step: float) -> bool:
    """Whether a display that shows nothing below zero, or below a value, may have cut ``values`` off."""
    lowest = int(np.count_nonzero(values <= values.min() + step / 2))
    highest = int(np.count_nonzero(values >= values.max() - step / 2))
    return lowest > AT_STOP * len(values) and highest < AT_TOP * lowest


def side_by_side(series: Series, step: float, t90_s: float | None) -> RunNoise | None:
    """None where nothing tells noise from change, or all readings are the same."""
    values = series.value[series.usable]
    if len(values) < FEWEST_READINGS or not np.ptp(values) > 0:
        return None
    noise = noise_of(series, step=step, t90_s=t90_s)
    if noise.sigma is None or noise.is_scatter or not noise.source.startswith("second differences"):
        return None
    return RunNoise(noise.sigma**2, noise.dof, noise.rho, len(values))


def together(zeros: Sequence[RunNoise], beside: Sequence[RunNoise], step: float) -> Noise | None:
    """The meter's noise: pooled over the runs of a kind, and of the two kinds the larger, because a meter may be
    noisier where there is something to measure. At least what rounding makes. None where
    no kind has ``FEWEST_DOF``."""
    both = (zeros, "zero air"), (beside, "side-by-side runs")
    kinds = [_pooled(runs, name) for runs, name in both if sum(run.dof for run in runs) >= FEWEST_DOF]
    if not kinds:
        return None
    told = max(kinds, key=lambda noise: noise.sigma or 0.0)
    return replace(told, sigma=max(told.sigma or 0.0, step / sqrt(12)))


def _pooled(runs: Sequence[RunNoise], name: str) -> Noise:
    dof = sum(run.dof for run in runs)
    variance = sum(run.variance * run.dof for run in runs) / dof
    readings = sum(run.n for run in runs)
    rho = max(run.rho for run in runs)
    lasts = f"; it lasts (autocorrelation {rho:.2f})" if rho > 0 else ""
    return Noise(sqrt(variance), rho, dof, f"this meter in {name}, {readings} readings{lasts}")
