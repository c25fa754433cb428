"""The correction chain, vectorised: corrected = ((raw · f − z(t)) / s(t)) · slope + intercept.

Method: docs/methods/correction.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from methods.correction.drift import Period, periods
from methods.correction.facts import Chain
from methods.correction.flagging import (
    NOT_DEPLOYED,
    below_detection,
    outside,
    over_range,
    settling,
    switched_on_ms,
    warming_up,
)
from methods.quantities.arrays import Bools, Flags, Floats, Ints
from methods.quantities.flags import Flag
from methods.quantities.stamp_convention import StampConvention, StampConventions, began_ms


@dataclass(frozen=True)
class Corrected:
    """Raw and corrected side by side, all arrays of shape (n,), in the order passed, in the channel's unit.

    ``zero`` and ``span`` are what was taken off and divided by.
    """

    chain: Chain
    utc_ms: Ints
    raw: Floats
    value: Floats
    flags: Flags
    zero: Floats
    span: Floats
    slope: Floats
    intercept: Floats

    @cached_property
    def periods(self) -> list[Period]:
        """Calibration by calibration, with the checks of each."""
        return periods(self.chain)

    @cached_property
    def has_failed_checks(self) -> bool:
        return any(checks.failed.any() for period in self.periods for checks in (period.zero, period.span))

    @cached_property
    def memo(self) -> dict[Any, Any]:
        """What was found about stretches of it, for those who ask again."""
        return {}


def correct(
    utc_ms: npt.ArrayLike,
    raw: npt.ArrayLike,
    chain: Chain,
    *,
    flags: npt.ArrayLike = 0,
    standing_ms: npt.ArrayLike = NOT_DEPLOYED,
    represents: StampConventions = StampConvention.SPOT,
    unbroken: npt.ArrayLike = False,
    temperature_c: npt.ArrayLike | None = None,
    humidity: npt.ArrayLike | None = None,
) -> Corrected:
    """One channel's readings at UTC ms (n,) with stored values ``raw`` (n,), corrected and flagged.

    ``flags`` (n,) are those already known (stored, clock, excluded by a person) and are kept. ``standing_ms`` (n,):
    since when the meter stands where it was for each reading, at the latest since it was switched on by a person, or
    ``NOT_DEPLOYED``. ``represents``: what a stored value stands for, one
    convention or codes (n,). ``temperature_c`` and ``humidity`` (n,) at the meter, where known. Pass whole switch-on
    periods: the first reading, and each after a gap, counts as switching on. ``unbroken`` (n,): before which of them
    there is no gap, where others were left out.
    A raw NaN or a stored sensor error has no value. Negative corrected values are kept: they carry the zero's noise.
    """
    times = np.asarray(utc_ms, dtype=np.int64)
    values = np.array(np.broadcast_to(np.asarray(raw, dtype=np.float64), times.shape))
    known = np.array(np.broadcast_to(np.asarray(flags, dtype=np.int32), times.shape))
    known[np.isnan(values)] |= Flag.SENSOR_ERROR
    values[(known & Flag.SENSOR_ERROR) != 0] = np.nan
    result = _apply(times, values, known, chain)
    facts = chain.facts
    _add(known, Flag.OVER_RANGE, over_range(values, facts))
    _add(known, Flag.BELOW_DETECTION, below_detection(values, result.value / chain.factor, facts))
    _not_ready(result, began_ms(times, represents, 1000 * facts.interval_s), standing_ms, unbroken)
    for conditions, low, high in (
        (temperature_c, facts.temperature_low_c, facts.temperature_high_c),
        (humidity, facts.humidity_low, facts.humidity_high),
    ):
        _add(known, Flag.OUTSIDE_CONDITIONS, outside(conditions, low, high, times.shape))
    return result


def _not_ready(result: Corrected, began: Ints, standing_ms: npt.ArrayLike, unbroken: npt.ArrayLike) -> None:
    """Flags of warming up and settling."""
    facts, shape = result.chain.facts, result.utc_ms.shape
    switched_on = switched_on_ms(result.utc_ms, began, facts, unbroken)
    standing = np.broadcast_to(np.asarray(standing_ms, dtype=np.int64), shape)
    _add(result.flags, Flag.WARMING_UP, warming_up(began, switched_on, facts))
    _add(result.flags, Flag.SETTLING, settling(began, standing, switched_on, facts))


def _add(flags: Flags, flag: Flag, where: Bools) -> None:
    flags[where] |= flag


def _apply(times: Ints, raw: Floats, flags: Flags, chain: Chain) -> Corrected:
    """Values and the flags of checks and calibrations, one calibration period at a time."""
    zero, span, slope, intercept = (np.empty(times.shape) for _ in range(4))
    all_periods = periods(chain)
    starts = np.array([period.line.valid_from_utc_ms for period in all_periods[1:]], dtype=np.int64)
    which = np.searchsorted(starts, times, side="right")
    for i in np.flatnonzero(np.bincount(which)):
        period = all_periods[i]
        here = slice(None) if np.all(which == i) else np.flatnonzero(which == i)
        at = times[here]
        zero[here], span[here] = period.zero.value(at, 0.0), period.span.value(at, 1.0)
        slope[here], intercept[here] = period.line.slope, period.line.intercept
        flags[here] |= _check_flags(at, period, chain)
    shown = raw if chain.factor == 1.0 else raw * chain.factor
    value = (shown - zero) / span * slope + intercept
    return Corrected(chain, times, raw, value, flags, zero, span, slope, intercept)


def _check_flags(at: Ints, period: Period, chain: Chain) -> Flags:
    """Calibration overdue or none on record; field check failed; field check missing."""
    flags = np.zeros(at.shape, dtype=np.int32)
    if not period.calibrated:
        flags |= Flag.CALIBRATION_OVERDUE
    elif period.line.due_utc_ms is not None:
        flags[at >= period.line.due_utc_ms] |= Flag.CALIBRATION_OVERDUE
    flags[period.zero.touched_by_failure(at) | period.span.touched_by_failure(at)] |= Flag.FIELD_CHECK_FAILED
    for kind in chain.facts.needs:
        flags[period.of(kind).missing(at, chain.facts.check_every_s)] |= Flag.FIELD_CHECK_MISSING
    return flags
