"""Averages of readings over time, and the rounding rules that go with them (docs/methods/averages.md). Pure."""

from __future__ import annotations

from methods.averages.ceilings import Ceiling, ceiling
from methods.averages.days import DayMean, day_means
from methods.averages.reach import MIN_COVERAGE
from methods.averages.rivals import Rivals, Within
from methods.averages.rounding import half_up, truncate
from methods.averages.series import Cells, Series, after_ms, joined
from methods.averages.shifts import (
    ShiftTwa,
    UnsampledTime,
    daily_shift_factor,
    shift_twa,
)
from methods.averages.windows import (
    MIN_READINGS,
    Window,
    best_coverage,
    block_means,
    blocks,
    whole,
    window,
    worst_window,
)

__all__ = [
    "MIN_COVERAGE",
    "MIN_READINGS",
    "Ceiling",
    "Cells",
    "DayMean",
    "Rivals",
    "Series",
    "ShiftTwa",
    "UnsampledTime",
    "Window",
    "Within",
    "after_ms",
    "best_coverage",
    "block_means",
    "blocks",
    "ceiling",
    "daily_shift_factor",
    "day_means",
    "half_up",
    "joined",
    "shift_twa",
    "truncate",
    "whole",
    "window",
    "worst_window",
]
