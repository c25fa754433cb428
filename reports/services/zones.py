"""From the results of points to the finding of a zone: the worst room-air result governs (METHODS M10)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from campaigns.models import Campaign, SamplingPoint
from reports.limits.model import Limit
from reports.models import Criterion, Finding, Result
from reports.services import digests
from reports.verdicts import VERDICT_WORDS, Verdict
from reports.wording import probability, span, with_uncertainty

#: What concerns most comes first. A result that cannot be compared never hides one that can.
CONCERN = {Verdict.ABOVE: 0, Verdict.UNDECIDED: 1, Verdict.BELOW: 2, Verdict.NOT_COMPARABLE: 3}


def judge_zones(campaign: Campaign) -> int:
    """Write one finding per criterion and measured zone; an unmeasured zone gets none. Returns how many there are."""
    kept = []
    for criterion in campaign.criteria.select_related("limit", "campaign__site"):
        limit = criterion.limit.as_library()
        for results in by_zone(criterion).values():
            kept.append(_keep(criterion, limit, results).pk)
    Finding.objects.filter(criterion__campaign=campaign).exclude(pk__in=kept).delete()
    return len(kept)


def by_zone(criterion: Criterion) -> dict[int, list[Result]]:
    """Room-air results per zone. Enclosed spaces, supply air and outdoor air are shown beside, and govern nothing."""
    rows = criterion.results.filter(point__kind=SamplingPoint.Kind.ROOM_AIR).select_related(
        "point__room__zone", "deployment__instrument"
    )
    zones: dict[int, list[Result]] = defaultdict(list)
    for result in rows:
        assert result.point.room is not None
        zones[result.point.room.zone_id].append(result)
    return zones


def governing(results: Iterable[Result]) -> Result:
    """The result of most concern; among equals the higher probability, then the higher value, then the later visit."""
    return min(
        results,
        key=lambda r: (CONCERN[Verdict(r.verdict)], -(r.p_above or 0), -(r.value or 0), -r.deployment_id),
    )


def _keep(criterion: Criterion, limit: Limit, results: list[Result]) -> Finding:
    worst = governing(results)
    assert worst.point.room is not None
    fraction = worst.value / limit.upper if worst.value is not None and limit.upper else None
    fields: dict[str, Any] = {
        "governing": worst,
        "verdict": worst.verdict,
        "fraction": fraction,
        "statement": statement(criterion, limit, worst, len({r.point_id for r in results})),
        "advice": worst.trace.get("advice", ""),
        "method": digests.METHOD,
        "digest": digests.of_parts(criterion.limit.code, sorted(r.digest for r in results)),
    }
    finding, _ = Finding.objects.update_or_create(criterion=criterion, zone=worst.point.room.zone, defaults=fields)
    return finding


def statement(criterion: Criterion, limit: Limit, worst: Result, points: int) -> str:
    """One sentence that stands on its own."""
    zone = criterion.campaign.site.zone_info
    name = criterion.limit.get_parameter_display()
    where = f"{worst.point}"
    if worst.value is None or worst.window_start is None or worst.window_end is None:
        return f"{name} at {where}: no value. {worst.reasons[0]['words']}"
    value = with_uncertainty(worst.value, worst.u, worst.unit)
    at = span(worst.window_start, worst.window_end, zone)
    measured = f"{name}, {limit.statistic}: {value} at {where}, {at}"
    of = f", the highest of {points} points" if points > 1 else ""
    verdict = VERDICT_WORDS[Verdict(worst.verdict)]
    against = f"{limit.value_text()} ({limit.body} {limit.edition})".replace(" )", ")")
    if worst.p_above is None:
        why = worst.reasons[0]["words"] if worst.reasons else ""
        return f"{measured}{of}. Against {against}: {verdict}. {why}".strip()
    return (
        f"{measured}{of}. Against {against}: {verdict}; the probability that the true value is above the limit is "
        f"{probability(worst.p_above)}."
    )
