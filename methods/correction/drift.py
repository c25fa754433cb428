"""Zero and span between checks, within one calibration (docs/methods/correction.md; K-11, K-12).

A check says what the meter showed and, through the calibration in force, what it ought to have shown. The zero is the
difference at zero gas, the span the slope left after the zero is taken off; both are relative to the calibration, so a
calibration factor is never applied twice. Between two checks they run in a straight line; outside they are held.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from methods.correction.facts import CalibrationLine, Chain, ChannelFacts, Check, Kind
from methods.quantities.arrays import Bools, Floats, Ints

#: A meter that shows no more than this share of the rise at span gas does not answer (project rule).
LEAST_ANSWER = 0.1
#: From when on the time before any calibration counts.
BEFORE_ALL = int(np.iinfo(np.int64).min)


@dataclass(frozen=True, slots=True)
class CheckSeries:
    """Checks of one kind in turn: when, what they give, whether they failed. Shapes (k,).

    ``rounding``, ``reference``: standard uncertainty of each value by the rounding of the display and by that of the
    gas, NaN where nobody entered it. ``accepted``: a person has accepted what rests on a failed one. ``dead``: the
    meter showed no rise at span gas, so the value is only that of the check before.
    """

    at: Ints
    values: Floats
    failed: Bools
    accepted: Bools
    rounding: Floats
    reference: Floats
    dead: Bools

    def value(self, utc: Ints, neutral: float) -> Floats:
        """The value at each time: a line between checks, held outside, ``neutral`` without any."""
        if self.at.size == 0:
            return np.full(utc.shape, neutral)
        return np.interp(utc, self.at, self.values)

    def around(self, utc: Ints) -> tuple[Ints, Ints]:
        """Indices of the check before and the check after each time; the same one twice where the value is held."""
        last = self.at.size - 1
        before = np.searchsorted(self.at, utc, side="right") - 1
        after = np.where(self.at[np.maximum(before, 0)] == utc, before, before + 1)
        return np.clip(before, 0, last), np.clip(after, 0, last)

    def touched_by_failure(self, utc: Ints) -> Bools:
        """Whether a check on which the value at each time rests has failed."""
        if not self.failed.any():
            return np.zeros(utc.shape, dtype=bool)
        before, after = self.around(utc)
        return self.failed[before] | self.failed[after]

    def missing(self, utc: Ints, every_s: float | None) -> Bools:
        """Where there is no check, or none within ``every_s`` of the time."""
        if self.at.size == 0 or every_s is None:
            return np.full(utc.shape, self.at.size == 0)
        before, after = self.around(utc)
        nearest: Ints = np.minimum(np.abs(utc - self.at[before]), np.abs(utc - self.at[after]))
        return np.asarray(nearest > 1000 * every_s)


@dataclass(frozen=True, slots=True)
class Period:
    """Time under one calibration, with its zero and span; ``calibrated`` is false for the time before any."""

    line: CalibrationLine
    calibrated: bool
    zero: CheckSeries
    span: CheckSeries

    def of(self, kind: Kind) -> CheckSeries:
        return self.zero if kind == "zero" else self.span


def periods(chain: Chain) -> list[Period]:
    """In turn; the first is the time before any calibration.

    Checks speak for the calibration in force when they were made and never across one: the meter was adjusted there.
    """
    lines = [CalibrationLine(BEFORE_ALL), *sorted(chain.calibrations)]
    ends = [line.valid_from_utc_ms for line in lines[1:]] + [np.iinfo(np.int64).max]
    drift_periods = []
    for i, (line, end) in enumerate(zip(lines, ends, strict=True)):
        checks = [check for check in chain.checks if line.valid_from_utc_ms <= check.at_utc_ms < end]
        drift_periods.append(_period(checks, line, calibrated=i > 0, facts=chain.facts))
    return drift_periods


def _period(checks: Sequence[Check], line: CalibrationLine, *, calibrated: bool, facts: ChannelFacts) -> Period:
    zeros, spans = _of_kind(checks, "zero"), _of_kind(checks, "span")
    shown = _series(zeros, [check.observed for check in zeros], line, facts)
    ought = replace(shown, values=np.array([_ought(check, line) for check in zeros], dtype=np.float64))
    span = _spans(spans, line, shown, ought, facts)
    # the span scales what the meter ought to show at zero gas, too; for a calibration through zero that is nothing
    factor = span.value(shown.at, 1.0)
    failed = _beyond(np.abs(shown.values - ought.values), zero_tolerance_of(facts))
    zero = replace(
        shown, values=shown.values - factor * ought.values, failed=failed, reference=shown.reference * factor
    )
    return Period(line, calibrated, zero, span)


def _of_kind(checks: Sequence[Check], kind: str) -> list[Check]:
    """In turn; of several at one moment the last given holds."""
    return sorted({c.at_utc_ms: c for c in checks if c.kind == kind}.values())


def _series(checks: Sequence[Check], values: list[float], line: CalibrationLine, facts: ChannelFacts) -> CheckSeries:
    """What was shown, as values: uncertainties in the meter's own scale."""
    at = np.array([check.at_utc_ms for check in checks], dtype=np.int64)
    reference = [np.nan if check.u_reference is None else check.u_reference / line.slope for check in checks]
    return CheckSeries(
        at=at,
        values=np.array(values, dtype=np.float64),
        failed=np.zeros(len(checks), dtype=bool),
        accepted=np.array([check.accepted for check in checks], dtype=bool),
        rounding=np.full(at.shape, (facts.resolution or 0.0) / np.sqrt(12)),
        reference=np.array(reference, dtype=np.float64),
        dead=np.zeros(len(checks), dtype=bool),
    )


def _ought(check: Check, line: CalibrationLine) -> float:
    """What a meter that keeps its calibration would have shown."""
    return (check.reference - line.intercept) / line.slope


def _spans(
    checks: list[Check], line: CalibrationLine, shown: CheckSeries, ought: CheckSeries, facts: ChannelFacts
) -> CheckSeries:
    raw = _series(checks, [check.observed for check in checks], line, facts)
    rise = np.array([_ought(check, line) for check in checks]) - ought.value(raw.at, 0.0)
    factors = np.divide(raw.values - shown.value(raw.at, 0.0), rise, out=np.full(rise.shape, np.nan), where=rise != 0)
    # a dead sensor shows no rise: nothing can be divided by that, so the check fails and the factor before it stays
    usable = np.isfinite(factors) & (factors > LEAST_ANSWER)
    failed = ~usable | _beyond(np.abs(factors - 1.0), facts.span_tolerance)
    values = np.ones(raw.at.shape) if not usable.any() else np.interp(raw.at, raw.at[usable], factors[usable])
    height = np.where(rise != 0, np.abs(rise), np.inf)
    # both ends of the rise are read from the display, where the zero was checked at all
    rounding = raw.rounding * np.sqrt(1 + (shown.at.size > 0)) / height
    dead = ~usable & (rise != 0)
    reference = values * raw.reference / height
    return replace(raw, values=values, failed=failed, rounding=rounding, reference=reference, dead=dead)


def zero_tolerance_of(facts: ChannelFacts) -> float | None:
    """One resolution step is no failed zero (common practice, no source; docs/methods/flags.md)."""
    known = [limit for limit in (facts.zero_tolerance, facts.resolution) if limit is not None]
    return max(known) if known else None


def _beyond(values: Floats, limit: float | None) -> Bools:
    """Above ``limit`` by more than the rounding of binary fractions: 0.03 − 0.02 is not above 0.01."""
    if limit is None:
        return np.zeros(values.shape, dtype=bool)
    return np.asarray(values > limit * (1 + 1e-9) + 1e-12)
