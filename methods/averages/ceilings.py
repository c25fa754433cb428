"""The highest single reading, and what may be said of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.averages.rivals import ANYWHERE, NO_RIVALS, Rivals, Within, rivals_of
from methods.averages.series import Series
from methods.quantities.digits import in_digits


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The highest (or lowest) usable reading. A logger sees only its own intervals: shorter peaks pass unseen.

    ``lower``/``upper`` bound the extreme where readings were below detection, as ``Window`` does for means; ``rivals``:
    the others that might have been it by chance.
    """

    value: float
    lower: float
    upper: float
    index: int
    n: int
    interval_ms: int
    is_lowest: bool
    is_lower_bound: bool
    rivals: Rivals = NO_RIVALS

    @property
    def words(self) -> str:
        """Never "complies with a ceiling": a logger cannot show that (docs/methods/averages.md)."""
        seconds = self.interval_ms / 1000
        length = f"{in_digits(seconds)} s" if seconds < 120 else f"{in_digits(seconds / 60)} min"
        interval = f"at this logging interval ({length})"
        if self.is_lower_bound:
            return f"over range at least once {interval}"
        return f"not seen {'below' if self.is_lowest else 'above'} {in_digits(self.value)} {interval}"


def ceiling(series: Series, *, lowest: bool = False, within: Within = ANYWHERE) -> Ceiling | None:
    """The highest (or ``lowest``) usable reading; the earliest of equals. None without readings. ``within``: which
    readings count among its ``rivals``."""
    cells = series.cells
    if not len(cells.index):
        return None
    sign = -1.0 if lowest else 1.0
    # Of equal values a measured one says more than a "<" at it, so that one is named.
    extreme = np.flatnonzero(cells.value == sign * np.max(sign * cells.value))
    measured = extreme[cells.low[extreme] == cells.value[extreme]]
    k = int((measured if len(measured) else extreme)[0])
    index = int(cells.index[k])
    return Ceiling(
        value=float(cells.value[k]),
        lower=sign * float(np.max(sign * cells.low)),
        upper=float(cells.value[k]),
        index=index,
        n=len(cells.index),
        interval_ms=series.interval_ms,
        is_lowest=lowest,
        is_lower_bound=bool(cells.over[k] if lowest else cells.over.any()),
        rivals=rivals_of(sign * cells.value >= sign * cells.value[k] - within.distance, within),
    )
