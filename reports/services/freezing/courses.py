"""The course of the readings as a report keeps it: few points of the stays that speak for a zone, corrected.

Points are readings themselves, of each stretch of time the lowest and the highest of those that count. Times are the
wall clock of the site in seconds, so that a report is drawn as the people there read the clock, whatever becomes of
rules for it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from typing import Any

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
from methods.wording.numbers import plain, span
from reports.content.canonical import number
from reports.models import Result
from reports.services.downsampling import Thinned, thinned
from reports.services.freezing.zones import CampaignFindings
from reports.services.zone_findings import value_of

Json = dict[str, Any]
Speaking = list[tuple[Criterion, Result]]

#: Of one stay; two a bin.
MOST_POINTS = 300
DIGITS = 5  # significant: more than any instrument resolves


def courses_of(
    campaign: Campaign, criteria: Sequence[Criterion], found: CampaignFindings, deployments: Iterable[Deployment]
) -> dict[int, list[Json]]:
    """By zone, one course for each parameter judged there, in the order of the criteria.

    ``deployments``: all of the campaign, with point, room and instrument. Queries as for the channels read, however
    many zones.
    """
    speaking = _speaking(criteria, found)
    by_key = {str(deployment.key): deployment for deployment in deployments}
    stays = {place: _stays(results, by_key) for place, results in speaking.items()}
    wanted = {deployment.pk: deployment for some in stays.values() for deployment in some}
    parameters = {parameter for _, parameter in speaking}
    cuts = {
        (cut.deployment.pk, cut.channel.spec.parameter): cut
        for cut in thinned(campaign, wanted.values(), parameter=parameters, bins=MOST_POINTS // 2)
    }
    courses: dict[int, list[Json]] = defaultdict(list)
    for (zone, parameter), results in speaking.items():
        here = [cuts[d.pk, parameter] for d in stays[zone, parameter] if (d.pk, parameter) in cuts]
        course = _course(results, here, found) if here else None
        if course is not None:
            courses[zone].append(course)
    return dict(courses)


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
    own = ((r.trace.get("deployments"), r.deployment) for _, r in results)
    keys = {key for joined, one in own for key in joined or ([str(one.key)] if one else [])}
    return sorted((by_key[key] for key in keys if key in by_key), key=lambda d: (d.starts_at, d.pk))


def _course(results: Speaking, cuts: Sequence[Thinned], found: CampaignFindings) -> Json | None:
    """In the terms of the first limit; in the channel's own unit, without any limit, where there is no way there."""
    criterion, governing = results[0]
    limit = criterion.limit.as_library()
    clock = Basis.in_zone(found.zone_info.key)
    course: Json = {
        "parameter": limit.parameter,
        "name": SUBSTANCES[limit.parameter].name,
        "criteria": [found.refs[criterion.pk] for criterion, _ in results],
    }
    try:
        hows = [terms(cut.channel.spec, limit) for cut in cuts]
    except NotConvertible:
        unit = cuts[0].channel.spec.unit
        stays = [_stay(cut, _as_it_is, clock, found) for cut in cuts if cut.channel.spec.unit == unit]
        course |= {"unit": unit, "unit_text": unit, "limits": [], "result": None}
    else:
        stays = [_stay(cut, how.values, clock, found) for cut, how in zip(cuts, hows, strict=True)]
        lines = [line for criterion, _ in results for line in _lines(found.refs[criterion.pk], criterion, limit)]
        course |= {"unit": limit.unit, "unit_text": hows[0].unit_text, "limits": lines}
        course["result"] = _result(governing, clock)
    course["stays"] = [stay for stay in stays if stay is not None]
    return course if course["stays"] else None


def _as_it_is(values: Floats) -> Floats:
    return values


def _lines(ref: str, criterion: Criterion, drawn_for: LimitDefinition) -> list[Json]:
    """Ends of a limit stated in the same terms. One for the value less the outdoor air is no line among readings."""
    limit = criterion.limit.as_library()
    same = (limit.unit, reference_of(limit)) == (drawn_for.unit, reference_of(drawn_for))
    if not same or limit.outdoor_rule is not OutdoorRule.ABSOLUTE:
        return []
    ends = {Bound.UPPER: (limit.upper,), Bound.LOWER: (limit.lower,), Bound.RANGE: (limit.lower, limit.upper)}
    label = f"{limit.value_text()}, {limit.statistic}"
    return [{"ref": ref, "at": number(end), "label": label} for end in ends[limit.bound] if end is not None]


def _result(result: Result, clock: Basis) -> Json | None:
    """The window of the result that speaks, at its mean as it was measured; None without a value."""
    outdoor = result.trace.get("outdoor") or {}
    mean, text = result.value, value_of(result)
    if outdoor.get("taken_off"):
        mean, text = outdoor["indoor"], f"{outdoor['indoor_text']}, before the outdoor value was taken off"
    if mean is None or result.window_start is None or result.window_end is None:
        return None
    begin, end = (clock.from_utc([utc_ms(result.window_start), utc_ms(result.window_end)]) // 1000).tolist()
    return {"from": begin, "to": end, "at": number(mean), "text": text}


def _stay(cut: Thinned, values: Callable[[Floats], Floats], clock: Basis, found: CampaignFindings) -> Json | None:
    """None where no reading counts. Lists ``below``, ``over`` and ``breaks`` are places in ``t`` and ``v``."""
    kept = _kept(cut)
    if not len(kept):
        return None
    below, over = ((cut.flags[kept] & int(flag)) != 0 for flag in (Flag.BELOW_DETECTION, Flag.OVER_RANGE))
    value = values(_raised(cut.value[kept], below, cut.channel.spec.detection_limit))
    piece = np.cumsum(cut.broken)[kept]
    begin, end = (clock.from_utc([cut.start_ms, cut.end_ms]) // 1000).tolist()
    low, high = int(np.argmin(value)), int(np.argmax(value))
    return {
        "where": str(cut.deployment.point),
        "instrument": cut.deployment.instrument.name,
        "when": span(utc_moment(cut.start_ms), utc_moment(cut.end_ms), found.zone_info),
        "start": begin,
        "length": end - begin,
        "readings": cut.reading_count,
        "thinned": len(kept) < int(np.count_nonzero(cut.counts)) or len(cut.utc_ms) < cut.reading_count,
        "lowest": f"{'< ' if below[low] else ''}{plain(float(value[low]))}",
        "highest": f"{'≥ ' if over[high] else ''}{plain(float(value[high]))}",
        "t": (clock.from_utc(cut.utc_ms[kept]) // 1000 - begin).tolist(),
        "v": [number(float(f"{one:.{DIGITS}g}")) for one in value.tolist()],
        "below": np.flatnonzero(below).tolist(),
        "over": np.flatnonzero(over).tolist(),
        "breaks": np.flatnonzero(np.diff(piece, prepend=piece[0]) > 0).tolist(),
    }


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
