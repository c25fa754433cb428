"""Time-weighted averages over a work shift, and what a longer one makes of a limit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from methods.averages.series import Series
from methods.averages.windows import Window, window

REFERENCE_HOURS = 8.0


class UnsampledTime(StrEnum):
    """What is assumed for the part of the shift nobody measured."""

    AS_SAMPLED = "as_sampled"
    ZERO = "zero"


ASSUMPTION: dict[UnsampledTime, str] = {
    UnsampledTime.AS_SAMPLED: "the part of the shift that was not sampled is taken to be like the sampled part",
    UnsampledTime.ZERO: "the part of the shift that was not sampled is taken to be free of exposure",
}


@dataclass(frozen=True, slots=True)
class ShiftTwa:
    """An average weighted to ``reference_hours``, with the window it rests on and the assumption it makes.

    ``value`` equals ``upper`` (readings below detection at their limit); ``lower`` has them at zero.
    """

    value: float
    lower: float
    upper: float
    sampled_minutes: float
    shift_minutes: float
    reference_hours: float
    unsampled: UnsampledTime
    window: Window

    @property
    def is_lower_bound(self) -> bool:
        return self.window.is_lower_bound

    @property
    def assumption(self) -> str:
        if self.sampled_minutes >= self.shift_minutes:
            return "the whole shift was sampled"
        return ASSUMPTION[self.unsampled]


def shift_twa(
    series: Series,
    start_ms: int,
    end_ms: int,
    unsampled: UnsampledTime | str = UnsampledTime.AS_SAMPLED,
    reference_hours: float = REFERENCE_HOURS,
) -> ShiftTwa | None:
    """E = Σ C·T / 8 h over the shift [start_ms, end_ms) (29 CFR 1910.1000(d)(1); T-01). None without any reading.

    Time the readings do not stand for enters as the mean of the rest, or as zero; the choice is part of the answer.
    """
    choice = UnsampledTime(unsampled)
    mean = window(series, start_ms, end_ms)
    if mean is None:
        return None
    shift = mean.minutes
    sampled = mean.covered_minutes
    weight = (shift if choice is UnsampledTime.AS_SAMPLED else sampled) / (reference_hours * 60)
    return ShiftTwa(
        mean.mean * weight, mean.lower * weight, mean.upper * weight, sampled, shift, reference_hours, choice, mean
    )


def daily_shift_factor(hours_per_day: float) -> float:
    """Brief and Scala's factor on an 8-h limit for a longer day, (8/h)·(24 − h)/16; at most 1 (T-06)."""
    if not 0 < hours_per_day < 24:
        raise ValueError("a shift lasts more than 0 and less than 24 hours")
    return min(1.0, 8.0 / hours_per_day * (24.0 - hours_per_day) / 16.0)
