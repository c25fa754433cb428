"""How well zero and span are known between, before and after their checks (docs/methods/correction.md). Pure.

Between two checks the drift is never nothing: the zero may have jumped at any moment between them. All of the zero is
in the meter's own scale, all of the span a share of it. Times are UTC ms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise
from math import hypot, isnan, nan, sqrt

import numpy as np

from methods.correction.drift import CheckSeries, Period
from methods.correction.facts import ChannelFacts, Kind
from methods.quantities.durations import DAY_MS

#: A change is said to contradict the certificate beyond so many of its standard uncertainties.
CONTRADICTS = 2.0
KINDS: tuple[Kind, ...] = ("zero", "span")
OPEN_END = int(np.iinfo(np.int64).max)


class DriftCause(StrEnum):
    """What the largest figure comes from."""

    ON_CHECK = "at the moment of a check"
    CHANGE = "half of the change between two checks"
    ALLOWANCE = "the certificate's rate, to the nearer of two checks"
    HELD = "the certificate's rate, since or until the only check near"
    CALIBRATION = "the certificate's rate, since the calibration"
    FAILED = "the whole step of a check outside its tolerance"
    UNKNOWN = "nobody knows"


@dataclass(frozen=True, slots=True)
class DriftUncertainty:
    """Of the zero or the span over a stretch of time.

    ``u``: standard uncertainty of its drift, None where nobody knows. ``checks``: times of those that it comes from;
    ``far_ms``: how far the furthest moment is from the nearer one, or from the calibration. ``rounding`` and
    ``reference``: standard uncertainty of the checks themselves, NaN for a reference that nobody entered.
    """

    u: float | None
    cause: DriftCause
    checks: tuple[int, ...] = ()
    far_ms: int = 0
    rounding: float = 0.0
    reference: float = 0.0


@dataclass(frozen=True, slots=True)
class Contradiction:
    """A change beyond what the stated drift and the checks themselves explain, which is ``explained`` =
    ``CONTRADICTS`` · √(``drift``² + ``known``²). ``since_ms``: of the check before it, or of the calibration;
    ``drift``: the stated rate over the time since then; ``known``: standard uncertainty of both ends (rounding,
    reference)."""

    kind: Kind
    at_ms: int
    since_ms: int
    change: float
    drift: float
    known: float
    from_calibration: bool

    @property
    def explained(self) -> float:
        return CONTRADICTS * hypot(self.drift, self.known)


@dataclass(frozen=True, slots=True)
class FailedCheck:
    """A check outside its tolerance on which readings rest. ``accepted``: a person has accepted what rests on it.
    ``dead``: the meter did not answer to span gas at all, which nobody can accept."""

    kind: Kind
    at_ms: int
    accepted: bool
    dead: bool = False


def neutral(kind: Kind) -> float:
    """What a check gives while the meter is as it was calibrated."""
    return 0.0 if kind == "zero" else 1.0


def during(periods: Sequence[Period], start_ms: int, end_ms: int) -> Iterator[tuple[Period, int, int]]:
    """The periods that share any moment from ``start_ms`` to ``end_ms`` (inclusive), each with its part of it."""
    begins = [period.line.valid_from_utc_ms for period in periods]
    for period, begin, end in zip(periods, begins, [*begins[1:], OPEN_END], strict=True):
        if begin <= end_ms and start_ms < end:
            yield period, max(start_ms, begin), min(end_ms, end - 1)


def drift_uncertainty(
    periods: Sequence[Period], kind: Kind, facts: ChannelFacts, start_ms: int, end_ms: int
) -> DriftUncertainty:
    """The largest over all moments from ``start_ms`` to ``end_ms``: what all readings of a mean share at most."""
    rate = facts.zero_rate if kind == "zero" else facts.span_rate
    each = [
        part
        for period, first, last in during(periods, start_ms, end_ms)
        for part in _in_period(period, kind, rate, first, last)
    ]
    worst = max(each, key=lambda part: (part.u is None, part.u or 0.0))
    if len(each) == 1:
        return worst
    return replace(
        worst,
        rounding=max(part.rounding for part in each),
        reference=_largest_known([part.reference for part in each]),
    )


def _in_period(
    period: Period, kind: Kind, rate: float | None, start_ms: int, end_ms: int
) -> Iterator[DriftUncertainty]:
    """Stretch by stretch, as the checks part it."""
    series = period.of(kind)
    if series.at.size == 0:
        yield _since_calibration(period, rate, end_ms)
        return
    first, last = used(series, start_ms, end_ms)
    if first == last and series.at[first] == start_ms == end_ms:
        yield _told(series, kind, DriftCause.ON_CHECK, 0.0, (first,), 0, rate)
        return
    edges = [start_ms, *(int(at) for at in series.at[first : last + 1] if start_ms < at < end_ms), end_ms]
    for begin, end in pairwise(edges):
        yield _between(series, kind, rate, begin, end)


def used(series: CheckSeries, start_ms: int, end_ms: int) -> tuple[int, int]:
    """The first and the last of the checks on which the values from ``start_ms`` to ``end_ms`` rest."""
    last = series.at.size - 1
    before = int(series.at.searchsorted(start_ms, "right")) - 1
    after = int(series.at.searchsorted(end_ms, "left"))
    return min(max(before, 0), last), min(max(after, 0), last)


def _since_calibration(period: Period, rate: float | None, end_ms: int) -> DriftUncertainty:
    if not period.calibrated or rate is None:
        return DriftUncertainty(None, DriftCause.UNKNOWN)
    far = end_ms - period.line.valid_from_utc_ms
    allowance = rate * far / DAY_MS
    return DriftUncertainty(allowance, DriftCause.CALIBRATION, far_ms=far)


def _between(series: CheckSeries, kind: Kind, rate: float | None, begin: int, end: int) -> DriftUncertainty:
    """``begin`` to ``end`` with no check inside."""
    before, after = used(series, begin, end)
    a, b = int(series.at[before]), int(series.at[after])
    if before == after:
        far = max(abs(begin - a), abs(end - a))
        return _told(series, kind, DriftCause.HELD, None, (before,), far, rate)
    middle = (a + b) // 2
    far = (b - a) // 2 if begin <= middle <= end else max(min(t - a, b - t) for t in (begin, end))
    half = abs(float(series.values[after] - series.values[before])) / 2
    return _told(series, kind, DriftCause.CHANGE, half, (before, after), far, rate)


def _told(
    series: CheckSeries,
    kind: Kind,
    cause: DriftCause,
    u: float | None,
    rests_on: tuple[int, ...],
    far: int,
    rate: float | None,
) -> DriftUncertainty:
    """The larger of ``u`` and what the rate allows, and of the whole step where a check it rests on has failed."""
    share = 1.0 if kind == "zero" else 1 / min(float(series.values[k]) for k in rests_on)
    allowance = None if rate is None else rate * far / DAY_MS
    u = None if u is None else u * share
    if allowance is not None and (u is None or allowance > u):
        u, cause = allowance, cause if cause is not DriftCause.CHANGE else DriftCause.ALLOWANCE
    step = max((_step(series, kind, k) for k in rests_on if series.failed[k]), default=None)
    if step is not None and (u is None or step * share / sqrt(3) > u):
        u, cause = step * share / sqrt(3), DriftCause.FAILED
    return DriftUncertainty(
        u=u,
        cause=cause if u is not None else DriftCause.UNKNOWN,
        checks=tuple(int(series.at[k]) for k in rests_on),
        far_ms=far,
        rounding=max(float(series.rounding[k]) for k in rests_on) * share,
        reference=_largest_known([float(series.reference[k]) for k in rests_on]) * share,
    )


def _largest_known(references: Sequence[float]) -> float:
    """NaN where any of them is."""
    return nan if any(map(isnan, references)) else max(references)


def _step(series: CheckSeries, kind: Kind, failed: int) -> float:
    """How far a check outside its tolerance lies from the last one inside before it, else from the calibration; of a
    meter that does not answer all of its span is lost."""
    if series.dead[failed]:
        return float(series.values[failed])
    earlier = np.flatnonzero(~series.failed[:failed])
    before = float(series.values[earlier[-1]]) if earlier.size else neutral(kind)
    return abs(float(series.values[failed]) - before)


# --- what readings rest on --------------------------------------------------------------------------------------------


def failed_during(periods: Sequence[Period], start_ms: int, end_ms: int) -> list[FailedCheck]:
    """Checks outside their tolerance on which any value from ``start_ms`` to ``end_ms`` rests, in order of time."""
    failed = [
        FailedCheck(kind, int(series.at[k]), bool(series.accepted[k]), bool(series.dead[k]))
        for period, first, last in during(periods, start_ms, end_ms)
        for kind in KINDS
        if (series := period.of(kind)).failed.any()
        for k in _indices(series, first, last)
        if series.failed[k]
    ]
    return sorted(failed, key=lambda check: check.at_ms)


def _indices(series: CheckSeries, start_ms: int, end_ms: int) -> range:
    first, last = used(series, start_ms, end_ms)
    return range(first, last + 1)


def bearing_on(series: CheckSeries, start_ms: int, end_ms: int) -> slice:
    """The checks that decide how well values from ``start_ms`` to ``end_ms`` are known: those around, and where the
    first of them has failed back to the last one inside its tolerance."""
    if series.at.size == 0:
        return slice(0, 0)
    first, last = used(series, start_ms, end_ms)
    earlier = np.flatnonzero(~series.failed[:first]) if series.failed[first] else np.array([first])
    return slice(int(earlier[-1]) if earlier.size else 0, last + 1)


# --- what checks say of the certificate -------------------------------------------------------------------------------


def contradictions(periods: Sequence[Period], kind: Kind, facts: ChannelFacts) -> Iterator[Contradiction]:
    """Changes from check to check, and from the calibration to the first, beyond twice √(drift² + rounding² +
    reference²). Nothing where the certificate states no rate; a reference that nobody entered widens nothing."""
    rate, fresh = (facts.zero_rate, facts.zero_u) if kind == "zero" else (facts.span_rate, facts.span_u)
    if rate is None:
        return
    for period in periods:
        series = period.of(kind)
        for k in range(series.at.size):
            if k == 0 and (not period.calibrated or fresh is None):
                continue
            known = hypot(*(_own(series, i) for i in (k - 1, k) if i >= 0), 0.0 if k else fresh or 0.0)
            since = int(series.at[k - 1]) if k else period.line.valid_from_utc_ms
            change = float(series.values[k]) - (float(series.values[k - 1]) if k else neutral(kind))
            drift = rate * (int(series.at[k]) - since) / DAY_MS
            found = Contradiction(kind, int(series.at[k]), since, change, drift, known, from_calibration=k == 0)
            if abs(change) > found.explained * (1 + 1e-9):
                yield found


def _own(series: CheckSeries, k: int) -> float:
    """Standard uncertainty of one check by itself."""
    reference = float(series.reference[k])
    return hypot(float(series.rounding[k]), 0.0 if isnan(reference) else reference)
