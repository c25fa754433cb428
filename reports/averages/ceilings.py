"""The highest single reading, and what may be said of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from reports.averages.series import Series


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The maximum of the usable readings. A logger sees only its own intervals: shorter peaks pass unseen."""

    value: float
    at_ms: int
    index: int
    n: int
    interval_ms: int
    is_below_detection: bool
    is_lower_bound: bool

    @property
    def words(self) -> str:
        """Never "complies with a ceiling": a logger cannot show that (METHODS M6)."""
        seconds = self.interval_ms / 1000
        interval = f"{seconds:g} s" if seconds < 120 else f"{seconds / 60:g} min"
        if self.is_lower_bound:
            return f"over range at least once at this logging interval ({interval})"
        return f"not seen above {self.value:g} at this logging interval ({interval})"


def ceiling(series: Series) -> Ceiling | None:
    """The highest usable reading; the earliest of equals. None without readings."""
    cells = series.cells
    if not len(cells.index):
        return None
    k = int(np.argmax(cells.value))
    # A detect equal to the detection limit says more than a "<" at it.
    detected = np.flatnonzero((cells.value == cells.value[k]) & (cells.low == cells.value))
    k = int(detected[0]) if len(detected) else k
    index = int(cells.index[k])
    return Ceiling(
        value=float(cells.value[k]),
        at_ms=int(series.utc_ms[index]),
        index=index,
        n=len(cells.index),
        interval_ms=series.interval_ms,
        is_below_detection=bool(cells.low[k] < cells.value[k]),
        is_lower_bound=bool(cells.over.any()),
    )
