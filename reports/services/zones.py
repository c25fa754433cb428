"""From the results of points to the finding of a zone: the worst room-air result governs (METHODS M10)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from campaigns.models import Campaign, SamplingPoint
from reports.comparability import State
from reports.limits.model import Bound, Limit
from reports.models import Criterion, Finding, Result
from reports.services import digests
from reports.services.upsert import upsert
from reports.verdicts import VERDICT_WORDS, Verdict
from reports.wording import measured, probability, span

#: What concerns most comes first: a limit not met, undecided, met. What cannot be compared hides nothing that can.
CONCERN = {False: 0, None: 1, True: 2}
NOT_COMPARABLE = 3
CHANGING = ("governing", "verdict", "fraction", "statement", "advice", "method", "digest")


def judge_zones(campaign: Campaign) -> int:
    """Write one finding per criterion and measured zone; an unmeasured zone gets none. Returns how many there are."""
    points = _room_air(campaign)
    there = [
        _finding(criterion, criterion.limit.as_library(), results)
        for criterion in campaign.criteria.select_related("limit", "campaign__site")
        for results in _by_zone(criterion, points).values()
    ]
    places = {(finding.criterion_id, finding.zone_id) for finding in there}
    stored = Finding.objects.filter(criterion__campaign=campaign).values_list("pk", "criterion_id", "zone_id")
    Finding.objects.filter(pk__in=[pk for pk, *place in stored if tuple(place) not in places]).delete()
    upsert(there, unique=("criterion", "zone"), changing=CHANGING)
    return len(there)


def _room_air(campaign: Campaign) -> dict[int, SamplingPoint]:
    """The measured points that govern zones. Enclosed spaces, supply air and outdoor air are shown beside them."""
    points = SamplingPoint.objects.filter(deployments__campaign=campaign, kind=SamplingPoint.Kind.ROOM_AIR)
    return {point.pk: point for point in points.select_related("room__zone").distinct()}


def _by_zone(criterion: Criterion, points: dict[int, SamplingPoint]) -> dict[int, list[Result]]:
    """Room-air results per zone. Each gets its point from ``points``: hundreds of results share a few of them."""
    zones: dict[int, list[Result]] = defaultdict(list)
    for result in criterion.results.defer("budget"):
        point = points.get(result.point_id)
        if point is not None and point.room is not None:
            result.point = point
            zones[point.room.zone_id].append(result)
    return zones


def governing(results: Iterable[Result]) -> Result:
    """The result of most concern, see ``concern``; among equals the later visit."""
    return min(results, key=lambda r: (*concern(r), -r.deployment_id))


def concern(result: Result) -> tuple[int, float, float]:
    """Order of concern, worst first: whether the limit is met, how likely it is not, how far the value reaches.

    For a lower limit, and the lower end of a range, the lowest value concerns most. Probabilities are as well known as
    they are printed, so beyond 0.1 % the value decides.
    """
    value, trace = result.value or 0.0, result.trace
    reach = value if trace.get("is_upper", True) else -value
    if result.verdict == Verdict.NOT_COMPARABLE:
        return NOT_COMPARABLE, 0.0, -reach
    return CONCERN[trace["is_met"]], -round(trace["p_not_met"] or 0.0, 3), -reach


def _finding(criterion: Criterion, limit: Limit, results: list[Result]) -> Finding:
    worst = governing(results)
    assert worst.point.room is not None
    return Finding(
        criterion=criterion,
        zone=worst.point.room.zone,
        governing=worst,
        verdict=worst.verdict,
        fraction=fraction_of(worst, limit),
        statement=statement(criterion, limit, worst, len({r.point_id for r in results})),
        advice=worst.trace.get("advice", ""),
        method=digests.METHOD,
        digest=digests.of_parts(criterion.limit.code, sorted(r.digest for r in results)),
    )


def fraction_of(result: Result, limit: Limit) -> float | None:
    """The value as a fraction of an upper limit; a range or a lower limit has none that says how bad it is."""
    if result.value is None or limit.bound is not Bound.UPPER or not limit.upper:
        return None
    return result.value / limit.upper


def statement(criterion: Criterion, limit: Limit, worst: Result, points: int) -> str:
    """One sentence that stands on its own."""
    name = criterion.limit.get_parameter_display()
    if worst.value is None or worst.window_start is None or worst.window_end is None:
        return f"{name} at {worst.point}: no value. {worst.reasons[0]['words']}"
    at = span(worst.window_start, worst.window_end, criterion.campaign.site.zone_info)
    of = f", which governs among {points} points" if points > 1 else ""
    against = f"{limit.value_text()} ({limit.body} {limit.edition})".replace(" )", ")")
    statistic = "mean of the visit" if worst.trace["is_context"] else limit.statistic
    if less_outdoors(worst):
        statistic += " less the outdoor value"
    return f"{name}, {statistic}: {value_of(worst)} at {worst.point}, {at}{of}. Against {against}: {_said(worst)}"


def less_outdoors(result: Result) -> bool:
    """Whether the outdoor value was taken off, as the limit asks."""
    return bool(result.trace.get("outdoor", {}).get("taken_off"))


def value_of(result: Result) -> str:
    """The value with its uncertainty in the limit's unit; what readings below detection or over range leave open."""
    if result.value is None:
        return "no value"
    trace = result.trace
    bounds = trace.get("lower"), trace.get("upper")
    return measured(result.value, result.u, result.unit, bounds=bounds, at_least=trace.get("is_lower_bound", False))


def _said(result: Result) -> str:
    """The verdict with the probability it rests on, or why there is none."""
    trace, verdict = result.trace, VERDICT_WORDS[Verdict(result.verdict)]
    why = result.reasons[0]["words"] if result.reasons else ""
    if result.p_above is None:
        return f"{verdict}. {why}".strip()
    limit = "the limit" if trace["words"] == verdict else f"{trace['edge']:g} {result.unit}"
    indication = f" As an indication only: {why}" if result.comparability == State.INDICATIVE.word else ""
    return (
        f"{trace['words']}; the probability that the true value is above {limit} is {probability(result.p_above)}."
        f"{indication}"
    )
