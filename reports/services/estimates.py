"""From the readings of one stay to an estimate in the terms of one limit, with its budget and its trace."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from campaigns.services.limit_terms import Terms, terms
from methods.averages import Series, Within, after_ms, joined
from methods.averages.windows import Window
from methods.limits.model import LimitDefinition
from methods.quantities.arrays import Floats
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.uncertainty.budget import (
    DRIFT,
    INTERFERENCE,
    REFERENCE,
    RESOLUTION,
    SPAN,
    SPAN_DRIFT,
    TEMPERATURE,
    ZERO,
    Budget,
    Component,
    Scatter,
    budget,
    combine,
    coverage_part,
    noise_part,
    scatter,
)
from methods.uncertainty.noise import Noise, noise_of
from methods.uncertainty.worst_of_many import choice, rivals_within
from methods.verdicts import Estimate
from readings.queries import Placed
from reports.services.circumstances import OutdoorValue
from reports.services.indoor_outdoor import OUTDOOR
from reports.services.meter_drift import MeterDrift, drift_of
from reports.services.sampling_periods import SamplingPeriod

#: What the instrument type says of a stored value, in the words of averages.


@dataclass(frozen=True, eq=False)
class Taken:
    """A stay in the terms of one limit: ``hows`` per part, ``series`` of all parts together."""

    stay: SamplingPeriod
    hows: tuple[Terms, ...]
    series: Series

    @classmethod
    def of(cls, stay: SamplingPeriod, limit: LimitDefinition) -> Taken | None:
        """None where there is no time in it. Raises methods.quantities.units.NotConvertible (words for people).

        Limits in the same terms share it, and with it the prefix sums of its series.
        """
        of_limit = _terms_of(limit)
        if of_limit not in stay.taken:
            stay.taken[of_limit] = cls._of(stay, limit)
        taken: Taken | None = stay.taken[of_limit]
        return taken

    @classmethod
    def _of(cls, stay: SamplingPeriod, limit: LimitDefinition) -> Taken | None:
        hows = [_terms(part, limit) for part in stay.parts]
        alone = len(stay.parts) == 1
        like = next((other.series for other in stay.taken.values() if other is not None), None) if alone else None
        in_terms = [(part, how, series_of(part, how, like)) for part, how in zip(stay.parts, hows, strict=True)]
        there = [(part, how, series) for part, how, series in in_terms if series is not None]
        if not there:
            return None
        parts, kept, series = zip(*there, strict=True)
        whole_series = series[0] if len(series) == 1 else joined(series)
        return cls(stay if len(parts) == len(stay.parts) else SamplingPeriod(tuple(parts)), tuple(kept), whole_series)

    @cached_property
    def said(self) -> tuple[str, ...]:
        """The assumptions of the conversion, each once."""
        return tuple(dict.fromkeys(words for how in self.hows for words in how.said))

    @cached_property
    def _spreads(self) -> dict[tuple[int, int], Scatter]:
        return {}

    def spread(self, first: int, last: int) -> Scatter:
        """How the readings from ``first`` to ``last`` (inclusive) scatter that count; limits share their windows."""
        if (first, last) not in self._spreads:
            series, inside = self.series, slice(first, last + 1)
            counts = series.usable[inside]
            self._spreads[first, last] = scatter(series.value[inside][counts], series.flags[inside][counts])
        return self._spreads[first, last]

    @cached_property
    def noise(self) -> Noise:
        """The noise of single readings, in the limit's unit; of several instruments the largest, and of what one of
        them cannot tell nothing is told."""
        parts = list(zip(self.stay.parts, self.hows, strict=True))
        if len(parts) == 1:
            return self._noise_alone(*parts[0])
        each = [_noise(series, part, how) for part, how in parts if (series := series_of(part, how)) is not None]
        unknown = [noise for noise in each if noise.sigma is None]
        return unknown[0] if unknown else max(each, key=lambda noise: noise.sigma or 0.0)

    def _noise_alone(self, part: Placed, how: Terms) -> Noise:
        """Worked out once for all limits: in another unit it is as much larger as the readings are."""
        known: tuple[Noise, float] | None = self.stay.noise.get(part.channel.pk)
        if known is None:
            known = self.stay.noise[part.channel.pk] = _noise(self.series, part, how), how.slope
        noise, slope = known
        return noise.times(how.slope / slope)

    def near(self, minutes: float) -> Within:
        """Which windows of ``minutes`` might have been the worst by chance."""
        return rivals_within(self.noise, self.series, minutes)

    @property
    def t90_s(self) -> float | None:
        """The slowest sensor governs; None where one does not state it."""
        times = [part.channel.spec.t90_s for part in self.stay.parts]
        return None if None in times else float(max(times))


def _terms_of(limit: LimitDefinition) -> tuple[object, ...]:
    return limit.unit, limit.temperature_c, limit.pressure_kpa, limit.reference_stated, limit.equivalent


def _terms(part: Placed, limit: LimitDefinition) -> Terms:
    """Worked out once for all deployments of a channel."""
    memo, asked = part.corrected.memo, ("terms", *_terms_of(limit))
    if asked not in memo:
        memo[asked] = terms(part.channel.spec, limit)
    known: Terms = memo[asked]
    return known


def _noise(series: Series, part: Placed, how: Terms) -> Noise:
    spec, slope = part.channel.spec, how.slope * part.corrected.chain.factor
    return noise_of(
        series,
        step=abs(spec.resolution * slope),
        t90_s=spec.t90_s,
        repeatability=_scaled(spec.repeatability, slope),
        detection_limit=_scaled(spec.detection_limit, slope),
        stable=None if part.stable is None else part.stable.times(how.slope),  # of values corrected already
    )


def series_of(placed: Placed, terms: Terms, like: Series | None = None) -> Series | None:
    """The readings in the limit's unit. A deployment that is still open ends, for now, with its last reading.

    ``like``: the same readings in another unit, where they were asked for already.
    """
    if like is not None:
        return like.in_other_terms(_raised(terms.values(placed.value), placed, terms))
    start = utc_ms(placed.deployment.starts_at)
    last = int(placed.utc_ms[-1]) + after_ms(placed.represents, placed.interval_ms) + 1
    end = utc_ms(placed.deployment.ends_at) if placed.deployment.ends_at else last
    if end <= start:
        return None
    return Series(
        utc_ms=placed.utc_ms,
        value=_raised(terms.values(placed.value), placed, terms),
        flags=placed.flags.astype(np.int16),
        interval_ms=placed.interval_ms,
        start_ms=start,
        end_ms=end,
        represents=placed.represents,
    )


def _raised(values: Floats, placed: Placed, terms: Terms) -> Floats:
    """Values, those below detection at the detection limit at least: a number shown under it is no more than "<" it."""
    limit = placed.channel.spec.detection_limit
    if limit is None:
        return values
    below = (placed.flags & int(Flag.BELOW_DETECTION)) != 0
    if not below.any():
        return values
    return np.where(
        below, np.maximum(values, terms.values(np.array([limit * placed.corrected.chain.factor]))[0]), values
    )


def estimate_of(
    taken: Taken, window: Window, weight: float = 1.0, *, covered: float | None = None, lowest: bool = False
) -> Estimate:
    """The mean of a window, times ``weight``, with its budget.

    ``covered``: the share of the averaging time that was measured, where that is not the window's own; ``lowest``: the
    window was chosen for its low mean.
    """
    spread = taken.spread(window.first, window.last)
    weighed = window if weight == 1.0 else window.times(weight)
    covered = window.coverage if covered is None else covered
    random = noise_part(taken.noise, spread, weight), coverage_part(covered, spread, weight)
    references = taken.stay.u_references
    budgets = [
        budget_of(
            part,
            inside,
            weighed,
            how.slope * weight * part.corrected.chain.factor,
            references[part.deployment.pk],
            random,
        )
        for part, inside, how in _parts(taken, window)
    ]
    chosen = choice(taken.noise, window.n, *window.rivals).times(-weight if lowest else weight)
    return Estimate.of(weighed, largest(budgets), chosen)


def _parts(taken: Taken, window: Window) -> Iterator[tuple[Placed, slice, Terms]]:
    if len(taken.hows) == 1:
        yield taken.stay.first, slice(window.first, window.last + 1), taken.hows[0]
        return
    by_part = {id(part): how for part, how in zip(taken.stay.parts, taken.hows, strict=True)}
    for part, inside in taken.stay.slices(window.first, window.last):
        yield part, inside, by_part[id(part)]


def largest(budgets: Sequence[Budget]) -> Budget:
    """Of one instrument its own budget; of several in one window the largest figure of each part, and what one of them
    does not know nobody knows."""
    if len(budgets) == 1:
        return budgets[0]
    by_name: dict[str, Component] = {}
    for part in (part for each in budgets for part in each.components):
        held = by_name.get(part.name)
        by_name[part.name] = part if held is None else max(held, part, key=lambda p: (p.u is None, p.u or 0.0))
    return Budget(tuple(by_name.values()))


def above_outdoor(indoor: Estimate, outdoor: OutdoorValue) -> Estimate:
    """What is left when the outdoor value is taken off. The span's part still grows with the whole indoor value."""
    parts = [
        part if part.relative is None else replace(part, offset=outdoor.value) for part in indoor.budget.components
    ]
    low, high = indoor.bounds
    is_open = low < high or outdoor.lower < outdoor.upper
    return replace(
        indoor,
        value=indoor.value - outdoor.value,
        budget=Budget((*parts, Component(OUTDOOR, outdoor.u, source=outdoor.words))),
        lower=low - outdoor.upper if is_open else None,
        upper=high - outdoor.lower if is_open else None,
    )


def budget_of(
    placed: Placed,
    inside: slice,
    window: Window,
    slope: float,
    reference: float | None,
    random: Sequence[Component],
) -> Budget:
    """The parts of M8 for the mean of a window, in the limit's unit. A part that nobody entered stays missing.

    ``inside``: the readings of this instrument in the window; ``slope``: limit units per channel unit;
    ``reference``: relative uncertainty of what its span was calibrated with; ``random``: what noise and coverage leave.
    """
    spec = placed.channel.spec
    zero, span = drift_of(placed, inside, "zero"), drift_of(placed, inside, "span")
    parts = budget(
        window.mean,
        random,
        resolution=spec.resolution * slope,
        zero_u=None if spec.u_zero is None else combine([spec.u_zero, zero.of_checks]) * abs(slope),
        span_u_rel=None if spec.u_span is None else combine([spec.u_span, reference or 0.0, span.of_checks]),
        drift_u=_scaled(zero.u, slope),
        temperature_u=_scaled(spec.u_temperature, slope),
        interference_u=_scaled(spec.u_interference, slope),
        span_drift_u_rel=span.u,
        sources=_sources(zero, span, with_calibration=bool(reference)),
    )
    if not (zero.lacks_reference or span.lacks_reference):
        return parts
    return Budget((*parts.components, Component(REFERENCE, None, "nobody entered how well their gas is known")))


def _sources(zero: MeterDrift, span: MeterDrift, *, with_calibration: bool) -> dict[str, str]:
    """From what each part is, in words."""
    checks = " and rounding and reference of its checks"
    return {
        ZERO: "instrument type" + (checks if zero.of_checks else ""),
        SPAN: "instrument type" + (" and calibration" if with_calibration else "") + (checks if span.of_checks else ""),
        DRIFT: zero.source,
        SPAN_DRIFT: span.source,
        RESOLUTION: "r/√12",
        TEMPERATURE: "instrument type",
        INTERFERENCE: "instrument type",
    }


def _scaled(u: float | None, slope: float) -> float | None:
    return None if u is None else abs(u * slope)
