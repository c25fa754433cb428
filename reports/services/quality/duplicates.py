"""Two instruments at one point at a time: found from the deployments, nothing to enter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Deployment
from methods.averages import MIN_COVERAGE, window
from methods.limits.model import LimitDefinition
from methods.quality.duplicates import cv_bound, disagree, pooled_s, relative_difference
from methods.quantities.moments import utc_moment
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible
from methods.verdicts import Estimate
from methods.wording.numbers import span
from methods.wording.results import place
from readings.queries import Placed, placed_in
from reports.content.canonical import number
from reports.services.estimates import Taken, estimate_of
from reports.services.meter_noise import NoiseOfMeters, with_noise
from reports.services.quality.runs import Limits
from reports.services.sampling_periods import SamplingPeriod
from reports.trace.quality import DuplicateMeasured, DuplicatesTogether

#: Pairs under the detection limit are left out of the statistics, as 40 CFR 58 leaves out those under a cut-off (from
#: memory): the difference of two numbers near nothing, over their mean, tells nothing.
BELOW = "below the detection limit of one of them"
NO_SHARE = "a temperature has no share"


@dataclass(frozen=True, slots=True)
class DuplicateVisit:
    """One instrument at the point, in the terms of a limit."""

    placed: Placed
    taken: Taken


def beside_each_other(deployments: Iterable[Deployment]) -> list[Deployment]:
    """Those during which another instrument stood at the same point."""
    by_point: dict[int, list[Deployment]] = defaultdict(list)
    for deployment in deployments:
        by_point[deployment.point_id].append(deployment)
    found: dict[int, Deployment] = {}
    for here in by_point.values():
        for one, other in combinations(here, 2):
            if one.instrument_id != other.instrument_id and at_one_time(one, other):
                found |= {one.pk: one, other.pk: other}
    return list(found.values())


def at_one_time(one: Deployment, other: Deployment) -> bool:
    """Whether they stand, or stood, during any moment together."""
    return (other.ends_at is None or one.starts_at < other.ends_at) and (
        one.ends_at is None or other.starts_at < one.ends_at
    )


def duplicates_measured(
    campaign: Campaign, deployments: Collection[Deployment], limits: Limits, meters: NoiseOfMeters
) -> tuple[tuple[DuplicateMeasured, ...], tuple[DuplicatesTogether, ...]]:
    """Pair by pair, and together by parameter: of what is judged. Reads nothing where no two stood together."""
    several = beside_each_other(deployments)
    if not several or not limits:
        return (), ()
    by_place: dict[tuple[str, int], list[DuplicateVisit]] = defaultdict(list)
    for placed in with_noise(placed_in(campaign, parameter=set(limits), deployments=several), meters):
        spec = placed.channel.spec
        if len(placed) and not spec.probe and (visit := _visit(placed, limits[spec.parameter][0])) is not None:
            by_place[spec.parameter, placed.deployment.point_id].append(visit)
    zone = campaign.site.zone_info
    pairs = [
        pair
        for (code, _), visits in sorted(
            by_place.items(), key=lambda item: (list(SUBSTANCES).index(item[0][0]), item[0][1])
        )
        for pair in _pairs(visits, limits[code][0], zone)
    ]
    codes = dict.fromkeys(pair.parameter for pair in pairs)
    return tuple(pairs), tuple(_together([pair for pair in pairs if pair.parameter == code]) for code in codes)


def _visit(placed: Placed, limit: LimitDefinition) -> DuplicateVisit | None:
    try:
        taken = Taken.of(SamplingPeriod((placed,)), limit)
    except NotConvertible:
        return None
    return None if taken is None else DuplicateVisit(placed, taken)


def _pairs(visits: Sequence[DuplicateVisit], limit: LimitDefinition, zone: ZoneInfo) -> Iterator[DuplicateMeasured]:
    ordered = sorted(visits, key=lambda visit: (str(visit.placed.deployment.instrument), visit.placed.channel.pk))
    seen: set[tuple[int, int]] = set()
    for one, other in combinations(ordered, 2):
        keys = one.placed.deployment.pk, other.placed.deployment.pk
        if one.placed.channel.instrument_id == other.placed.channel.instrument_id or keys in seen:
            continue
        if (pair := _pair(one, other, limit, zone)) is not None:
            seen.add(keys)
            yield pair


def _pair(
    one: DuplicateVisit, other: DuplicateVisit, limit: LimitDefinition, zone: ZoneInfo
) -> DuplicateMeasured | None:
    """Over the time that both were there; None where too little of it was measured by one of them."""
    start = max(one.taken.series.start_ms, other.taken.series.start_ms)
    end = min(one.taken.series.end_ms, other.taken.series.end_ms)
    if end <= start:
        return None
    first, second = _mean(one, start, end), _mean(other, start, end)
    if first is None or second is None:
        return None
    point = one.placed.deployment.point
    left_out = _left_out(one, other, first.value, second.value)
    relative = None if left_out else relative_difference(first.value, second.value)
    return DuplicateMeasured(
        parameter=limit.parameter,
        unit=limit.unit,
        point=place(point.room.name if point.room else "", point.name),
        zone=str(point.room.zone.key) if point.room else "",
        when=span(utc_moment(start), utc_moment(end), zone),
        first=str(one.placed.deployment.instrument),
        second=str(other.placed.deployment.instrument),
        value_first=number(first.value),
        expanded_first=number(first.expanded),
        value_second=number(second.value),
        expanded_second=number(second.expanded),
        relative=number(relative),
        apart=_apart(first, second),
        left_out=left_out,
    )


def _mean(visit: DuplicateVisit, start: int, end: int) -> Estimate | None:
    mean = window(visit.taken.series, start, end)
    if mean is None or mean.coverage < MIN_COVERAGE:
        return None
    return estimate_of(visit.taken, mean)


def _apart(first: Estimate, second: Estimate) -> bool:
    """What readings below detection, or over range, leave open contradicts nothing, but what lies beyond that does;
    what nobody knows how well it is known contradicts nothing."""
    if first.budget.is_blind or second.budget.is_blind:
        return False
    return any(
        not low.is_lower_bound
        and (highest := low.bounds[1]) < (lowest := high.bounds[0])
        and disagree(highest, low.expanded, lowest, high.expanded)
        for low, high in ((first, second), (second, first))
    )


def _left_out(one: DuplicateVisit, other: DuplicateVisit, first: float, second: float) -> str:
    if SUBSTANCES[one.placed.channel.spec.parameter].is_climate:
        return NO_SHARE
    for visit, value in ((one, first), (other, second)):
        limit, (how,) = visit.placed.channel.spec.detection_limit, visit.taken.hows
        if limit is not None and value < limit * how.slope * visit.placed.corrected.chain.factor:
            return BELOW
    return ""


def _together(pairs: Sequence[DuplicateMeasured]) -> DuplicatesTogether:
    counted = [pair for pair in pairs if not pair.left_out]
    values = [(pair.value_first, pair.value_second) for pair in counted]
    relative = [pair.relative for pair in counted if pair.relative is not None]
    return DuplicatesTogether(
        parameter=pairs[0].parameter,
        unit=pairs[0].unit,
        n=len(values),
        pooled=number(pooled_s(values)) if values else None,
        bound=number(cv_bound(values)),
        largest=number(max(relative, key=abs)) if relative else None,
    )
