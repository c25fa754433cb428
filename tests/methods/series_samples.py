"""Invented series of readings for tests of averaging: stamps in minutes, everything else as one would guess."""

from __future__ import annotations

import numpy as np

from methods.averages import Series
from methods.quantities.durations import MINUTE_MS
from methods.quantities.stamp_convention import StampConvention


def series(
    minutes: list[float],
    values: list[float],
    *,
    interval: float = 1.0,
    start: float = 0.0,
    end: float | None = None,
    flags: list[int] | None = None,
    represents: StampConvention = StampConvention.SPOT,
) -> Series:
    last = minutes[-1] + interval if end is None else end
    return Series(
        np.array([round(m * MINUTE_MS) for m in minutes], np.int64),
        np.array(values, np.float64),
        np.array(flags or [0] * len(values), np.int16),
        round(interval * MINUTE_MS),
        round(start * MINUTE_MS),
        round(last * MINUTE_MS),
        represents,
    )
