"""From the readings of one deployment to an estimate in the terms of one limit, with its budget and its trace."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from campaigns.stamps import utc_ms
from readings.queries import Placed
from reports.averages import Series, Stands, after_ms, ceiling, whole, window, worst_window
from reports.averages.windows import Window
from reports.comparability import Comparability, comparable, data_of
from reports.limits.model import Averaging, Bound, Limit
from reports.services.terms import Terms
from reports.uncertainty import (
    DRIFT,
    INTERFERENCE,
    RESOLUTION,
    SCATTER,
    SPAN,
    TEMPERATURE,
    ZERO,
    Budget,
    budget,
    combine,
    scatter,
)
from reports.verdicts import Estimate

MS_PER_DAY = 86_400_000
#: What the instrument type says of a stored value, in the words of averages.
STANDS = {
    "spot": Stands.SPOT,
    "end": Stands.INTERVAL_END,
    "start": Stands.INTERVAL_START,
    "middle": Stands.INTERVAL_MIDDLE,
}
#: Judged at the worst window of their length; a log longer than a shift holds many shifts, of which the worst counts.
WINDOWED = (Averaging.ROLLING_MEAN, Averaging.SAMPLE_MEAN, Averaging.LONG_TERM_MEAN, Averaging.SHIFT_TWA)


@dataclass(frozen=True)
class Measured:
    """What one deployment says in the terms of one limit. ``estimate`` is None where no reading counts.

    ``is_context``: the data cannot give the statistic the limit asks for, so it is the mean of all readings.
    """

    series: Series
    comparability: Comparability
    window: Window | None = None
    estimate: Estimate | None = None
    said: list[str] = field(default_factory=list)
    is_context: bool = False


def measure(placed: Placed, limit: Limit, terms: Terms, outdoors: bool = False) -> list[Measured]:
    """The statistic the limit asks for; where the data cannot give it, the mean of all readings as context.

    A range asks for two, the highest and the lowest: a room may be too warm in the afternoon and too cold at night.
    Empty where the deployment has no time in it.
    """
    series = series_of(placed, terms)
    if series is None:
        return []
    data = data_of(series, limit, t90_s=placed.channel.spec.t90_s, outdoors=outdoors)
    comparability = comparable(limit, data)
    return [_measured(placed, series, limit, terms, comparability, lowest) for lowest in _ends(limit)]


def _ends(limit: Limit) -> tuple[bool, ...]:
    """Whether the lowest statistic is asked for, the highest, or both."""
    if limit.averaging not in (*WINDOWED, Averaging.CEILING, Averaging.SPOT):
        return (False,)  # the mean of everything is the same at both ends
    return {Bound.UPPER: (False,), Bound.LOWER: (True,), Bound.RANGE: (False, True)}[limit.bound]


def _measured(
    placed: Placed, series: Series, limit: Limit, terms: Terms, comparability: Comparability, lowest: bool
) -> Measured:
    said = list(terms.said)
    found = _asked_for(series, limit, lowest=lowest)
    is_context = found is None
    if found is None:
        found = whole(series)
        said.append("the mean of all readings of this visit, as context")
    elif limit.averaging is Averaging.SHIFT_TWA:
        said.append("the part of the shift that was not measured is taken to be like the measured part")
    estimate = None if found is None else _estimate(placed, series, found, terms)
    return Measured(series, comparability, found, estimate, said, is_context=is_context)


def series_of(placed: Placed, terms: Terms) -> Series | None:
    """The readings in the limit's unit. A deployment that is still open ends, for now, with its last reading."""
    start = utc_ms(placed.deployment.starts_at)
    stands = STANDS[placed.represents]
    last = int(placed.utc_ms[-1]) + after_ms(stands, placed.interval_ms) + 1
    end = utc_ms(placed.deployment.ends_at) if placed.deployment.ends_at else last
    if end <= start:
        return None
    return Series(
        utc_ms=placed.utc_ms,
        value=terms.values(placed.value),
        flags=placed.flags.astype(np.int16),
        interval_ms=placed.interval_ms,
        start_ms=start,
        end_ms=end,
        stands=stands,
    )


def _asked_for(series: Series, limit: Limit, *, lowest: bool) -> Window | None:
    """The window of the statistic that the limit asks for; None where the readings are too short for it."""
    minutes = limit.averaging_minutes
    if limit.averaging in (Averaging.CEILING, Averaging.SPOT):
        return _extreme(series, lowest=lowest)
    if limit.averaging in WINDOWED and minutes:
        return worst_window(series, minutes, lowest=lowest) if minutes <= series.minutes else None
    return whole(series)


def _extreme(series: Series, *, lowest: bool) -> Window | None:
    """The highest or lowest single reading, as the interval it stands for."""
    top = ceiling(series, lowest=lowest)
    if top is None:
        return None
    # its own stretch, which reaches to both sides of a momentary value and lies before a mean stamped at its end
    k = int(np.searchsorted(series.cells.index, top.index))
    return window(series, int(series.cells.lo[k]), int(series.cells.hi[k]))


def _estimate(placed: Placed, series: Series, found: Window, terms: Terms) -> Estimate:
    inside = slice(found.first, found.last + 1)
    counts = series.usable[inside]
    spread = scatter(series.value[inside][counts], series.flags[inside][counts])
    return Estimate.of(found, budget_of(placed, found, terms, n=spread.n, rho=spread.rho, s=spread.s))


def budget_of(placed: Placed, found: Window, terms: Terms, *, n: int, rho: float, s: float | None) -> Budget:
    """The parts of M8 for the mean of a window, in the limit's unit. A part that nobody entered stays missing."""
    spec, slope = placed.channel.spec, terms.slope
    drift, drift_source = _drift(placed, found, slope)
    reference = _calibration_u(placed)
    span = None if spec.u_span is None else combine([spec.u_span, reference or 0.0])
    return budget(
        found.mean,
        n=n,
        rho=rho,
        s=s,
        resolution=spec.resolution * slope,
        zero_u=_scaled(spec.u_zero, slope),
        span_u_rel=span,
        drift_u=drift,
        temperature_u=_scaled(spec.u_temperature, slope),
        interference_u=_scaled(spec.u_interference, slope),
        sources={
            ZERO: "instrument type",
            SPAN: "instrument type" + (" and calibration" if reference else ""),
            DRIFT: drift_source,
            RESOLUTION: "r/√12",
            TEMPERATURE: "instrument type",
            INTERFERENCE: "instrument type",
            SCATTER: f"{n} readings, lag-1 autocorrelation {rho:.2f}",
        },
    )


def _scaled(u: float | None, slope: float) -> float | None:
    return None if u is None else abs(u * slope)


def _drift(placed: Placed, found: Window, slope: float) -> tuple[float | None, str]:
    """Between two zero checks the drift is corrected; outside them it grows by the day since the nearest one."""
    per_day = placed.channel.spec.u_drift
    if per_day is None:
        return None, ""
    held_s = placed.corrected.held_s("zero")[placed.index][found.first : found.last + 1]
    if np.isnan(held_s).all():
        since = _days_since_calibration(placed)
        if since is None:
            return None, "no zero check and no calibration to count from"
        return abs(per_day * since * slope), f"{since:.0f} days since the calibration, no zero check"
    days = float(np.nanmax(held_s)) / 86_400
    if days == 0:
        return 0.0, "corrected between two zero checks"
    return abs(per_day * days * slope), f"zero held for up to {days * 24:.1f} h"


def _days_since_calibration(placed: Placed) -> float | None:
    times = [line.valid_from_utc_ms for line in placed.corrected.chain.calibrations]
    before = [t for t in times if t <= placed.utc_ms[-1]]
    return None if not before else (int(placed.utc_ms[-1]) - max(before)) / MS_PER_DAY


def _calibration_u(placed: Placed) -> float | None:
    day = placed.deployment.starts_at.date()
    earlier = [c for c in placed.channel.calibrations.all() if c.date <= day]
    return max(earlier, key=lambda c: c.date).u_reference if earlier else None
