"""Control chart of single values: is a check of this meter like those before it?

Centre line and limits come from the meter's own history: mean ± 3 · (mean moving range)/1.128 (individuals chart,
ISO 7870-2; from memory). Pure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

#: Fewer points give no limits (project rule; handbooks ask for 20 or more before limits are settled, from memory).
FEWEST_POINTS = 8
#: Mean range of two values of a normal distribution, in standard deviations (from memory).
D2 = 1.128
SIGMAS = 3


@dataclass(frozen=True, slots=True)
class ControlChart:
    """Centre line, both limits and the mean moving range, in the unit of the values; ``outside``: places of the values
    beyond the limits."""

    centre: float
    lower: float
    upper: float
    moving_range: float
    outside: tuple[int, ...]


def control_chart(values: Sequence[float], step: float = 0.0) -> ControlChart | None:
    """Of the values of one meter in order of time; None for fewer than ``FEWEST_POINTS``.

    ``step`` of the display, in the unit of the values: the limits lie at least so far from the centre, because checks
    that show one value all through say no more of the meter than that.
    """
    if len(values) < FEWEST_POINTS:
        return None
    x = np.asarray(values, dtype=np.float64)
    centre, moving_range = float(x.mean()), float(np.abs(np.diff(x)).mean())
    reach = max(SIGMAS * moving_range / D2, step)
    outside = np.flatnonzero(np.abs(x - centre) > reach * (1 + 1e-9))
    return ControlChart(centre, centre - reach, centre + reach, moving_range, tuple(int(k) for k in outside))


def largest_change(values: Sequence[float]) -> tuple[int, float] | None:
    """From one check to the next: place of the later one and the signed change, the largest in size; None for fewer
    than two."""
    if len(values) < 2:
        return None
    changes = np.diff(np.asarray(values, dtype=np.float64))
    k = int(np.argmax(np.abs(changes)))
    return k + 1, float(changes[k])
