"""The outdoor air that goes with a window indoors (docs/methods/zones.md; T7 of the guidelines reference).

Measured at the same time where an outdoor instrument stood there then; otherwise the visits nearest before and after.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Any
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Deployment, SamplingPoint
from methods.averages import MIN_COVERAGE, Series, whole, window
from methods.averages.windows import Window
from methods.limits.model import LimitDefinition
from methods.quantities.durations import HOUR_MS
from methods.quantities.moments import utc_moment
from methods.quantities.units import NotConvertible
from methods.uncertainty.budget import rectangular
from methods.verdicts import Estimate
from methods.wording.numbers import span
from readings.queries import Placed, placed_in
from reports.services import digests
from reports.services.circumstances import NoOutdoor, OutdoorValue
from reports.services.estimates import Taken, estimate_of
from reports.services.failed_checks import failed_checks
from reports.services.meter_noise import NoiseOfMeters, with_noise
from reports.services.sampling_periods import SamplingPeriod

#: How far from the window indoors an outdoor visit may lie (project rule, no source): outdoor rounds in the morning and
#: in the evening speak for what lies between them, and for a night.
MOST_APART_MS = 12 * HOUR_MS


@dataclass(frozen=True, slots=True)
class _Visit:
    """One outdoor visit in a limit's unit: its estimate over ``window``."""

    stay: SamplingPeriod
    series: Series
    window: Window
    estimate: Estimate


class Outdoors:
    """The campaign's outdoor readings, asked for once per evaluation."""

    def __init__(self, placed: Iterable[Placed], zone: ZoneInfo) -> None:
        self.zone = zone
        self._stays: dict[str, list[SamplingPeriod]] = defaultdict(list)
        for part in placed:
            self._stays[part.channel.spec.parameter].append(SamplingPeriod((part,)))
        self._digests: dict[int, str] = {}
        self._visits: dict[int, _Visit | None] = {}
        self._taken: dict[tuple[int, str, Any], Taken | None] = {}

    def at(self, limit: LimitDefinition, start_ms: int, end_ms: int) -> OutdoorValue | NoOutdoor:
        """The outdoor value for a window indoors, in the limit's unit and at its reference."""
        taken = [
            taken_outdoors
            for stay in self._stays[limit.parameter]
            if (taken_outdoors := self._in_terms(stay, limit)) is not None
        ]
        if not taken:
            return NoOutdoor("It was not measured outdoors in this campaign.")
        same = [visit for taken_outdoors in taken if (visit := _during(taken_outdoors, start_ms, end_ms)) is not None]
        if same:
            best = max(same, key=lambda visit: visit.window.coverage)
            return self._told([best], "measured at the same time")
        near = _nearest(
            [visit for taken_outdoors in taken if (visit := self._whole(taken_outdoors)) is not None], start_ms, end_ms
        )
        if not near:
            return NoOutdoor(f"No outdoor visit lies within {MOST_APART_MS // HOUR_MS} h of it.")
        return self._told(near, _how(near, start_ms, end_ms))

    def digest(self, parameter: str, start_ms: int, end_ms: int) -> list[str]:
        """Of every outdoor visit that may speak for a stay indoors."""
        return sorted(self._digest(stay) for stay in self.near(parameter, start_ms, end_ms))

    def near(self, parameter: str, start_ms: int, end_ms: int) -> list[SamplingPeriod]:
        """Every outdoor visit that may speak for a stay indoors."""
        return [
            stay
            for stay in self._stays[parameter]
            if stay.first.utc_ms[0] - MOST_APART_MS <= end_ms and stay.first.utc_ms[-1] + MOST_APART_MS >= start_ms
        ]

    def _digest(self, stay: SamplingPeriod) -> str:
        if id(stay) not in self._digests:
            self._digests[id(stay)] = digests.of_readings(stay.first)
        return self._digests[id(stay)]

    def _in_terms(self, stay: SamplingPeriod, limit: LimitDefinition) -> Taken | None:
        key = id(stay), limit.unit, (limit.temperature_c, limit.pressure_kpa, limit.equivalent)
        if key not in self._taken:
            try:
                self._taken[key] = Taken.of(stay, limit)
            except NotConvertible:
                self._taken[key] = None
        return self._taken[key]

    def _whole(self, taken: Taken) -> _Visit | None:
        """The whole of a visit; every window indoors asks for the same ones."""
        if id(taken) not in self._visits:
            mean = whole(taken.series)
            visit = None if mean is None else _Visit(taken.stay, taken.series, mean, estimate_of(taken, mean))
            self._visits[id(taken)] = visit
        return self._visits[id(taken)]

    def _told(self, visits: Sequence[_Visit], how: str) -> OutdoorValue | NoOutdoor:
        estimates = [visit.estimate for visit in visits]
        if any(estimate.budget.is_blind for estimate in estimates):
            return NoOutdoor("Neither the zero nor the span of the outdoor instrument is known.")
        if any(estimate.is_lower_bound for estimate in estimates):
            return NoOutdoor("Outdoors the instrument was over range.")
        n = len(estimates)
        value = sum(estimate.value for estimate in estimates) / n
        lower, upper = (sum(estimate.bounds[end] for estimate in estimates) / n for end in (0, 1))
        # Between two visits the air may have been anything between the two: rectangular (JCGM 100 §4.3.7).
        values = [estimate.value for estimate in estimates]
        between = rectangular((max(values) - min(values)) / 2)
        u = hypot(max(estimate.budget.combined for estimate in estimates), between)
        failed = failed_checks(
            stretch for visit in visits for stretch in visit.stay.stretches(visit.window.first, visit.window.last)
        )
        if failed.dead:
            return NoOutdoor(f"Outdoors the instrument did not answer. {' '.join(failed.dead)}")
        return OutdoorValue(value, u, lower, upper, self._words(visits, how), _keys(visits), failed)

    def _words(self, visits: Sequence[_Visit], how: str) -> str:
        there = "; ".join(
            f"{visit.stay.deployment.point}, {visit.stay.deployment.instrument}, "
            f"{span(utc_moment(visit.window.start_ms), utc_moment(visit.window.end_ms), self.zone)}"
            for visit in visits
        )
        return f"{how} ({there})"


def _keys(visits: Sequence[_Visit]) -> tuple[str, ...]:
    return tuple(str(visit.stay.deployment.key) for visit in visits)


def _during(taken: Taken, start_ms: int, end_ms: int) -> _Visit | None:
    """The same stretch of time outdoors, where enough of it was measured (R-01)."""
    series = taken.series
    if series.end_ms <= start_ms or series.start_ms >= end_ms:
        return None
    mean = window(series, start_ms, end_ms)
    if mean is None or mean.coverage < MIN_COVERAGE:
        return None
    return _Visit(taken.stay, series, mean, estimate_of(taken, mean))


def _overlaps(visit: _Visit, start_ms: int, end_ms: int) -> bool:
    return visit.series.end_ms > start_ms and visit.series.start_ms < end_ms


def _how(visits: Sequence[_Visit], start_ms: int, end_ms: int) -> str:
    if len(visits) == 1:
        return "the nearest visit"
    if all(_overlaps(visit, start_ms, end_ms) for visit in visits):
        return f"mean of {len(visits)} visits during it"
    return "mean of the visits before and after"


def _nearest(visits: Sequence[_Visit], start_ms: int, end_ms: int) -> list[_Visit]:
    """All visits during the window; where there are none, the nearest before it and the nearest after it."""
    inside = [visit for visit in visits if _overlaps(visit, start_ms, end_ms)]
    if len(inside) > 1:
        return inside
    middle = (start_ms + end_ms) / 2
    visits_near = []
    for is_after in (False, True):
        side = [v for v in visits if ((v.series.start_ms + v.series.end_ms) / 2 >= middle) is is_after]
        gaps = [(max(start_ms - v.series.end_ms, v.series.start_ms - end_ms, 0), v) for v in side]
        near = [(gap, n, v) for n, (gap, v) in enumerate(gaps) if gap <= MOST_APART_MS]
        if near:
            visits_near.append(min(near)[2])
    return visits_near


def outdoors_of(
    campaign: Campaign,
    deployments: Iterable[Deployment],
    parameters: Collection[str],
    meters: NoiseOfMeters | None = None,
) -> Outdoors:
    """The readings of the outdoor points. One deployment at a time: a meter that went round the rooms as well is not
    read twice as a whole."""
    outside = [d for d in deployments if d.point.kind == SamplingPoint.Kind.OUTDOOR]
    placed = (part for d in outside for part in with_noise(placed_in(campaign, deployments=[d]), meters))
    return Outdoors([part for part in placed if part.channel.spec.parameter in parameters], campaign.site.zone_info)
