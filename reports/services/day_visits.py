"""The readings of a day at one point, of one visit or of several, where a limit is for their mean.

Method: docs/methods/averages.md#the-readings-of-a-day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import tzinfo

from campaigns.models import Campaign, Deployment
from methods.averages.days import DayMean, day_means
from methods.limits.model import Averaging, LimitDefinition
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from methods.quantities.units import NotConvertible
from methods.uncertainty.budget import NOISE, SCATTER, Budget, Component, combine
from methods.uncertainty.worst_of_many import choice_of_apart
from methods.verdicts import Estimate
from methods.verdicts.comparability import ReadingsOfDay
from methods.wording.numbers import plain
from readings.queries import placed_in
from reports.services import digests
from reports.services.estimates import Taken, estimate_of
from reports.services.meter_noise import NoiseOfMeters, with_noise
from reports.services.sampling_periods import SamplingPeriod, stays_of

Place = tuple[int, str]  # point, parameter


@dataclass(frozen=True, slots=True)
class DayVisit:
    """What one stay says of one day, in the unit of a limit."""

    stay: SamplingPeriod
    mean: DayMean
    estimate: Estimate


@dataclass(frozen=True, slots=True)
class DayTaken:
    """The visits of the day that is judged, in order of time; ``own`` is that of the stay itself. ``estimate``: the
    mean of their means, so that each visit counts once."""

    own: DayVisit
    visits: tuple[DayVisit, ...]
    estimate: Estimate

    @property
    def readings(self) -> ReadingsOfDay:
        first = min(visit.mean.first_ms for visit in self.visits)
        last = max(visit.mean.last_ms for visit in self.visits)
        return ReadingsOfDay(sum(visit.mean.window.n for visit in self.visits), (last - first) / MINUTE_MS)

    def words(self, zone: tzinfo, unit: str) -> str:
        """ "2026-09-15: 2 visits, each counted once: from 09:00 812 ppm (6 readings); …" """
        each = "; ".join(
            f"from {utc_moment(visit.mean.first_ms).astimezone(zone):%H:%M} {plain(visit.mean.window.mean)} {unit} "
            f"({_readings(visit.mean.window.n)})"
            for visit in self.visits
        )
        count = f"{len(self.visits)} visits, each counted once: " if len(self.visits) > 1 else "1 visit, "
        return f"{self.own.mean.day:%Y-%m-%d}: {count}{each}"


def _readings(n: int) -> str:
    return "1 reading" if n == 1 else f"{n} readings"


class DayVisits:
    """The other visits of a campaign at a point on a day; ``zone``: the clock by which a day is a day."""

    def __init__(self, stays: Iterable[SamplingPeriod], zone: tzinfo) -> None:
        self.zone = zone
        self._stays: dict[Place, list[SamplingPeriod]] = defaultdict(list)
        for stay in stays:
            self._stays[stay.deployment.point_id, stay.parameter].append(stay)

    def worst(self, taken: Taken, limit: LimitDefinition, *, lowest: bool = False) -> DayTaken | None:
        """The day of the stay with the highest (or lowest) mean of at least two readings, of all visits of that day;
        where no day has two, of one. The earliest of equals; None where no reading counts."""
        others = self._others(taken.stay, limit)
        days = [self._day(taken, mean, others.get(mean.day, ())) for mean in day_means(taken.series, self.zone)]
        enough = [day for day in days if day.readings.count > 1] or days
        sign = -1.0 if lowest else 1.0
        worst = max(enough, key=lambda day: sign * day.estimate.value, default=None)
        return None if worst is None else _chosen(worst, enough, lowest=lowest)

    def digest(self, stay: SamplingPeriod) -> list[str]:
        """Of the clock, and of all that may share a day with the stay."""
        return [
            str(self.zone),
            *sorted(digests.of_readings(part) for other in self.mates(stay) for part in other.parts),
        ]

    def mates(self, stay: SamplingPeriod) -> list[SamplingPeriod]:
        """All that may share a day with the stay."""
        return [other for other in self._stays[stay.deployment.point_id, stay.parameter] if _is_other(other, stay)]

    def _others(self, stay: SamplingPeriod, limit: LimitDefinition) -> dict[object, list[DayVisit]]:
        """By day, visits of other deployments; those of the same instrument first."""
        found: dict[object, list[DayVisit]] = defaultdict(list)
        instrument = stay.deployment.instrument_id
        for other in sorted(self.mates(stay), key=lambda mate: mate.deployment.instrument_id != instrument):
            try:
                taken = Taken.of(other, limit)
            except NotConvertible:
                continue
            if taken is not None:
                for mean in day_means(taken.series, self.zone):
                    found[mean.day].append(_visit(taken, mean))
        return found

    def _day(self, taken: Taken, mean: DayMean, others: Sequence[DayVisit]) -> DayTaken:
        own = _visit(taken, mean)
        visits = [own]
        for other in others:
            # two instruments side by side are one visit, not two
            if all(_is_apart(other.mean, visit.mean) for visit in visits):
                visits.append(other)
        visits.sort(key=lambda visit: visit.mean.first_ms)
        return DayTaken(own, tuple(visits), mean_of([visit.estimate for visit in visits]))


def _visit(taken: Taken, mean: DayMean) -> DayVisit:
    return DayVisit(taken.stay, mean, estimate_of(taken, mean.window))


def _chosen(worst: DayTaken, days: Sequence[DayTaken], *, lowest: bool) -> DayTaken:
    """Days share no noise: there is a night between them."""
    noise = next((part for part in worst.estimate.budget.components if part.name in (NOISE, SCATTER)), None)
    if noise is None:
        return worst
    values = [day.estimate.value for day in days]
    chosen = choice_of_apart(values, noise.u, noise.dof, lowest=lowest)
    return replace(worst, estimate=replace(worst.estimate, chosen=chosen))


def _is_other(one: SamplingPeriod, other: SamplingPeriod) -> bool:
    return {part.deployment.pk for part in one.parts}.isdisjoint(part.deployment.pk for part in other.parts)


def _is_apart(one: DayMean, other: DayMean) -> bool:
    return one.window.end_ms <= other.window.start_ms or other.window.end_ms <= one.window.start_ms


def mean_of(estimates: Sequence[Estimate]) -> Estimate:
    """The plain mean of the results of several visits. What the instrument is off by is common to them and stays as
    large as its largest; what readings scatter by shrinks as that of independent visits does."""
    if len(estimates) == 1:
        return estimates[0]
    n = len(estimates)
    low, high = (sum(estimate.bounds[end] for estimate in estimates) / n for end in (0, 1))
    is_open = any(estimate.lower is not None for estimate in estimates)
    # by name: not every budget has every part, as the reference of checks or scatter in place of noise
    rows: dict[str, list[Component]] = defaultdict(list)
    for part in (part for estimate in estimates for part in estimate.budget.components):
        rows[part.name].append(part)
    minutes = [estimate.minutes for estimate in estimates]
    return Estimate(
        value=sum(estimate.value for estimate in estimates) / n,
        budget=Budget(tuple(_common(row, n) for row in rows.values())),
        lower=low if is_open else None,
        upper=high if is_open else None,
        is_lower_bound=any(estimate.is_lower_bound for estimate in estimates),
        minutes=None if None in minutes else sum(m for m in minutes if m is not None),
    )


def _common(row: Sequence[Component], n: int) -> Component:
    """Of ``n`` visits the same part; nothing of those that do not have it."""
    largest = max(row, key=lambda part: (part.u is None, part.u or 0.0))
    if largest.u is None or not largest.shrinks:
        return largest
    scatter = combine([part.u or 0.0 for part in row]) / n
    return replace(largest, u=scatter, dof=min(part.dof for part in row), source=f"of {n} visits")


def day_visits_of(
    campaign: Campaign,
    deployments: Collection[Deployment],
    limits: Iterable[LimitDefinition],
    meters: NoiseOfMeters | None = None,
) -> DayVisits:
    """What is needed for those of ``limits`` that are for the readings of a day: visits at points that have several."""
    zone = campaign.site.zone_info
    parameters = {limit.parameter for limit in limits if limit.averaging is Averaging.DAY_READINGS}
    if not parameters:
        return DayVisits((), zone)
    by_point: dict[int, list[Deployment]] = defaultdict(list)
    for deployment in deployments:
        by_point[deployment.point_id].append(deployment)
    several = [deployment for here in by_point.values() if len(here) > 1 for deployment in here]
    if not several:
        return DayVisits((), zone)
    placed = list(with_noise(placed_in(campaign, parameter=parameters, deployments=several), meters))
    return DayVisits(stays_of(placed, several), zone)
