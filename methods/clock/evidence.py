"""Whether what is known of a clock is enough for what is said with it: which place a reading belongs to.

Method: docs/methods/clock.md. Project rules.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from methods.clock.suggestion import WINDOW_MS, Suggestion
from methods.quantities.arrays import Ints
from methods.quantities.durations import HOUR_MS, MINUTE_MS

#: A stretch of logging that begins and ends so near a deployment's own edges was logged by a clock that is right.
EDGE_MS = 5 * MINUTE_MS
#: Stretches typically longer than this can be laid an hour to either side and still lie on their deployments.
SHORT_MS = 2 * HOUR_MS

#: ``open``: a person is asked something about it. ``unchecked``: nobody looked, and nothing speaks for it. "": known.
ClockDoubt = Literal["open", "unchecked", ""]


@dataclass(frozen=True, slots=True)
class StretchStanding:
    """From ``first_ms`` to ``last_ms`` UTC of a log, as its clock is understood now."""

    first_ms: int
    last_ms: int
    doubt: ClockDoubt


@dataclass(frozen=True, eq=False)
class ClockStanding:
    """One instrument: its stretches of logging ``logged`` (k, 2) UTC ms, with what is known of its clock in each part;
    ``interval_ms``: the longest logging interval."""

    logged: Ints
    stretches: tuple[StretchStanding, ...]
    interval_ms: int

    def doubt(self, first_ms: int, last_ms: int) -> ClockDoubt:
        """Of the readings from ``first_ms`` to ``last_ms``: an open question weighs more than a missing check."""
        held = {s.doubt for s in self.stretches if s.first_ms <= last_ms and first_ms <= s.last_ms}
        return "open" if "open" in held else "unchecked" if "unchecked" in held else ""

    def reaches_beyond(self, start_ms: int, end_ms: int, elsewhere: npt.ArrayLike = ()) -> bool:
        """Whether readings of [start, end) would be others, or lie elsewhere, by a clock off by up to 26 h: readings
        lie outside, or the instrument stood at another point then: ``elsewhere`` (m, 2)."""
        low, high = start_ms - WINDOW_MS, end_ms + WINDOW_MS
        before = (self.logged[:, 0] < start_ms - self.interval_ms) & (self.logged[:, 1] > low)
        after = (self.logged[:, 1] > end_ms + self.interval_ms) & (self.logged[:, 0] < high)
        others = np.asarray(elsewhere, dtype=np.int64).reshape(-1, 2)
        stood = (others[:, 0] < high) & (others[:, 1] > low)
        return bool(before.any() or after.any() or stood.any())


def is_pinned(placed: Ints, deployments: Ints, suggestion: Callable[[], Suggestion]) -> bool:
    """Whether stretches of logging ``placed`` (k, 2) say by themselves where they belong among ``deployments`` (m, 2).

    Several short ones do where one way of laying them stands out (``suggest_offset``); others where most begin and end
    with a deployment, which people note by another clock than the instrument's.
    """
    if len(placed) > 1 and np.median(placed[:, 1] - placed[:, 0]) <= SHORT_MS:
        return suggestion().speaks
    near = [bool((np.abs(deployments - stretch) <= EDGE_MS).all(axis=1).any()) for stretch in placed]
    return 2 * sum(near) > len(near)
