"""The course of the readings as a report keeps it: few points of the stays that speak for a zone, corrected.

Points are readings themselves, of each stretch of time the lowest and the highest of those that count. Times are the
wall clock of the site in seconds, so that a report is drawn as the people there read the clock, whatever becomes of
rules for it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence

import numpy as np

from campaigns.models import Campaign, Criterion, Deployment
from campaigns.services.limit_terms import reference_of, terms
from methods.clock import Basis
from methods.figures.thinning import A_BIN, thin
from methods.limits.model import Bound, LimitDefinition, OutdoorRule
from methods.quantities.arrays import Bools, Floats, Ints
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_moment, utc_ms
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible
from methods.wording.limits import line_label
from methods.wording.numbers import span
from methods.wording.results import highest, lowest, place
from reports.content.canonical import number
from reports.content.courses import CourseLimit, CourseResult, ReportedCourse, ReportedStay
from reports.models import Result
from reports.services.downsampling import Thinned, thinned
from reports.services.freezing import traced
from reports.services.freezing.zones import CampaignFindings
from reports.services.result_values import value_of

Speaking = list[tuple[Criterion, Result]]

#: Of one stay; two a bin.
MOST_POINTS = 300
DIGITS = 5  # significant: more than any instrument resolves


def courses_of(
    campaign: Campaign, criteria: Sequence[Criterion], found: CampaignFindings, deployments: Iterable[Deployment]
) -> dict[int, tuple[ReportedCourse, ...]]:
    """By zone, one course for each parameter judged there, in the order of the criteria.

    ``deployments``: all of the campaign, with point, room and instrument. Queries as for the channels read, however
    many zones.
    """
    speaking = _speaking(criteria, found)
    by_key = {str(deployment.key): deployment for deployment in deployments}
    stays = {place: _stays(results, by_key) for place, results in speaking.items()}
    wanted = {deployment.pk: deployment for some in stays.values() for deployment in some}
    parameters = {parameter for _, parameter in speaking}
    cuts: dict[tuple[int, str], list[Thinned]] = defaultdict(list)
    for cut in thinned(campaign, wanted.values(), parameter=parameters, bins=MOST_POINTS // 2):
        cuts[cut.deployment.pk, cut.channel.spec.parameter].append(cut)
    courses: dict[int, list[ReportedCourse]] = defaultdict(list)
    for (zone, parameter), results in speaking.items():
        here = [cut for d in stays[zone, parameter] for cut in cuts[d.pk, parameter]]
        course = _course(results, here, found) if here else None
        if course is not None:
            courses[zone].append(course)
    return {zone: tuple(drawn) for zone, drawn in courses.items()}


def _speaking(criteria: Sequence[Criterion], found: CampaignFindings) -> dict[tuple[int, str], Speaking]:
    """(zone, parameter) → the results that govern there, in the order of their criteria."""
    speaking: dict[tuple[int, str], Speaking] = defaultdict(list)
    for criterion in criteria:
        for (zone, of), finding in found.findings.items():
            if of == criterion.pk:
                governs = (r for r in found.results[zone, of] if r.pk == finding.governing_id)
                speaking[zone, criterion.limit.parameter] += [(criterion, result) for result in governs]
    return {place: results for place, results in speaking.items() if results}


def _stays(results: Speaking, by_key: dict[str, Deployment]) -> list[Deployment]:
    """What the results rest on, in order of time."""
    keys = {key for _, result in results for key in traced.deployment_keys(result)}
    return sorted((by_key[key] for key in keys if key in by_key), key=lambda d: (d.starts_at, d.pk))


def _course(results: Speaking, cuts: Sequence[Thinned], found: CampaignFindings) -> ReportedCourse | None:
    """In the terms of the first limit; in the channel's own unit, without any limit, where there is no way there."""
    criterion, governing = results[0]
    limit = criterion.limit.as_library()
    clock = Basis.in_zone(found.zone_info.key)
    lines: tuple[CourseLimit, ...] = ()
    result: CourseResult | None = None
    try:
        hows = [terms(cut.channel.spec, limit) for cut in cuts]
    except NotConvertible:
        unit = unit_text = cuts[0].channel.spec.unit
        stays = [_stay(cut, _as_it_is, clock, found) for cut in cuts if cut.channel.spec.unit == unit]
    else:
        unit, unit_text = limit.unit, hows[0].unit_text
        stays = [_stay(cut, how.values, clock, found) for cut, how in zip(cuts, hows, strict=True)]
        lines = tuple(line for criterion, _ in results for line in _lines(found.refs[criterion.pk], criterion, limit))
        result = _result(governing, clock)
    kept = tuple(stay for stay in stays if stay is not None)
    if not kept:
        return None
    return ReportedCourse(
        parameter=limit.parameter,
        name=SUBSTANCES[limit.parameter].name,
        criteria=tuple(found.refs[criterion.pk] for criterion, _ in results),
        unit=unit,
        unit_text=unit_text,
        limits=lines,
        result=result,
        stays=kept,
    )


def _as_it_is(values: Floats) -> Floats:
    return values


def _lines(ref: str, criterion: Criterion, drawn_for: LimitDefinition) -> list[CourseLimit]:
    """Ends of a limit stated in the same terms. One for the value less the outdoor air is no line among readings."""
    limit = criterion.limit.as_library()
    same = (limit.unit, reference_of(limit)) == (drawn_for.unit, reference_of(drawn_for))
    if not same or limit.outdoor_rule is not OutdoorRule.ABSOLUTE:
        return []
    ends = {Bound.UPPER: (limit.upper,), Bound.LOWER: (limit.lower,), Bound.RANGE: (limit.lower, limit.upper)}
    label = line_label(limit)
    return [CourseLimit(ref, number(end), label) for end in ends[limit.bound] if end is not None]


def _result(result: Result, clock: Basis) -> CourseResult | None:
    """The window of the result that speaks, at its mean as it was measured; None without a value."""
    mean, text = traced.as_measured(result, value_of(result))
    if mean is None or result.window_start is None or result.window_end is None:
        return None
    begin, end = (clock.from_utc([utc_ms(result.window_start), utc_ms(result.window_end)]) // 1000).tolist()
    return CourseResult(begin, end, number(mean), text)


def _stay(
    cut: Thinned, values: Callable[[Floats], Floats], clock: Basis, found: CampaignFindings
) -> ReportedStay | None:
    """None where no reading counts."""
    kept = _kept(cut)
    if not len(kept):
        return None
    below, over = ((cut.flags[kept] & int(flag)) != 0 for flag in (Flag.BELOW_DETECTION, Flag.OVER_RANGE))
    value = values(_raised(cut.value[kept], below, cut.channel.spec.detection_limit))
    piece = np.cumsum(cut.broken)[kept]
    begin, end = (clock.from_utc([cut.start_ms, cut.end_ms]) // 1000).tolist()
    low, high = int(np.argmin(value)), int(np.argmax(value))
    point = cut.deployment.point
    return ReportedStay(
        where=place(point.room.name if point.room else "", point.name),
        instrument=cut.channel.spec.with_probe(cut.deployment.instrument.name),
        when=span(utc_moment(cut.start_ms), utc_moment(cut.end_ms), found.zone_info),
        start=begin,
        length=end - begin,
        readings=cut.reading_count,
        thinned=len(kept) < int(np.count_nonzero(cut.counts)) or len(cut.utc_ms) < cut.reading_count,
        lowest=lowest(float(value[low]), below=bool(below[low])),
        highest=highest(float(value[high]), over=bool(over[high])),
        t=tuple((clock.from_utc(cut.utc_ms[kept]) // 1000 - begin).tolist()),
        v=tuple(number(float(f"{reading:.{DIGITS}g}")) for reading in value.tolist()),
        below=tuple(np.flatnonzero(below).tolist()),
        over=tuple(np.flatnonzero(over).tolist()),
        breaks=tuple(np.flatnonzero(np.diff(piece, prepend=piece[0]) > 0).tolist()),
    )


def _raised(value: Floats, below: Bools, limit: float | None) -> Floats:
    """Those below detection at the limit of detection: the net signal is under it, nobody knows how far."""
    return value if limit is None else np.where(below, np.maximum(value, limit), value)


def _kept(cut: Thinned) -> Ints:
    """Places of at most ``MOST_POINTS`` readings that count."""
    counted = np.flatnonzero(cut.counts)
    if len(counted) <= MOST_POINTS:
        return counted
    time, value = cut.utc_ms[counted], cut.value[counted]
    fewer = {"start_ms": cut.start_ms, "end_ms": cut.end_ms, "bins": MOST_POINTS // A_BIN}
    return counted[thin(time, value, np.ones(len(counted), dtype=bool), **fewer)]
