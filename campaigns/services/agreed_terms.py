"""The terms of a campaign as they stand: those that would be offered, and those that were measured and judged by."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import datetime

from campaigns.models import Campaign, SamplingPoint
from campaigns.services.acceptance_limits import in_force
from campaigns.services.limit_terms import reference_of
from campaigns.services.use_timetables import use_in_force
from methods.limits.model import Averaging, LimitDefinition
from methods.quality.acceptance import MEASURES
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.wording.agreements import AgreedAcceptance, AgreedPoint, AgreedTerms, limit_of, point_of
from methods.wording.quality import limit_words

WITHIN = "room__zone__floor__building"


def terms_of(campaign: Campaign) -> AgreedTerms:
    """What is planned: criteria, levels, the points of the plan, its days, acceptance limits. Nine queries at most."""
    planned = campaign.planned_points.select_related(f"point__{WITHIN}")
    return _terms(campaign, [row.point for row in planned])


def used_terms(campaign: Campaign, sampled: Iterable[int] = ()) -> AgreedTerms:
    """What was done: criteria and levels as now, the points that were measured, the first and the last day of it.

    ``sampled``: ids of points with results that no deployment gave. Without any visit the days are those planned.
    """
    visits = list(campaign.deployments.order_by("starts_at").values_list("point", "starts_at", "ends_at"))
    measured = {point for point, _, _ in visits} | set(sampled)
    points = SamplingPoint.objects.filter(pk__in=measured).select_related(WITHIN)
    terms = _terms(campaign, list(points.order_by("room__name", "name", "pk")))
    if not visits:
        return terms
    days = [
        moment.astimezone(campaign.site.zone_info).date().isoformat()
        for _, start, end in visits
        for moment in (start, end or start)
    ]
    return replace(terms, first_day=min(days), last_day=max(days))


def measuring_began(campaign: Campaign) -> datetime | None:
    """When the first instrument was put up; None while none was."""
    return campaign.deployments.order_by("starts_at").values_list("starts_at", flat=True).first()


def _terms(campaign: Campaign, points: Sequence[SamplingPoint]) -> AgreedTerms:
    limits = [criterion.limit.as_library() for criterion in campaign.criteria.select_related("limit")]
    return AgreedTerms(
        site=", ".join(part for part in (campaign.site.name, campaign.site.address) if part),
        objective=campaign.objective,
        protocol=campaign.protocol,
        parameters=tuple(dict.fromkeys(SUBSTANCES[limit.parameter].name for limit in limits)),
        limits=tuple(limit_of(limit, reference_of(limit)) for limit in limits),
        above=campaign.level_above,
        below=campaign.level_below,
        shift=_shift(campaign, limits),
        use=_use(campaign, limits, points),
        points=tuple(_point(point) for point in points),
        first_day=campaign.starts_on.isoformat(),
        last_day=campaign.ends_on.isoformat(),
        acceptance=tuple(_acceptance(campaign)),
    )


def _acceptance(campaign: Campaign) -> Iterator[AgreedAcceptance]:
    held = in_force(campaign)
    for code, measure in MEASURES.items():
        percent = held[code].percent if code in held else None
        if percent is not None:
            yield AgreedAcceptance(code, measure.name, f"{limit_words(measure, percent)} {measure.of}")


def _point(point: SamplingPoint) -> AgreedPoint:
    if point.room is None:
        return point_of(str(point.key), point.name)
    zone = point.room.zone
    return point_of(str(point.key), point.name, point.room.name, zone.name, zone.floor.name, zone.floor.building.name)


def _shift(campaign: Campaign, limits: Iterable[LimitDefinition]) -> str:
    """Only where a limit is weighted over a shift."""
    if not any(limit.averaging is Averaging.SHIFT_TWA for limit in limits):
        return ""
    unsampled = Campaign.Unsampled(campaign.unsampled).label
    return f"over {in_digits(campaign.shift_hours)} h; the part that was not measured is taken to be {unsampled}"


def _use(campaign: Campaign, limits: Iterable[LimitDefinition], points: Sequence[SamplingPoint]) -> tuple[str, ...]:
    """Of the zones measured, only where a limit is about occupied time."""
    if not any(limit.occupied for limit in limits):
        return ()
    in_force = use_in_force(campaign)
    zones = {point.room.zone_id: point.room.zone for point in points if point.room}
    told = [(zone.name, in_force.of(zone)) for zone in zones.values()]
    return tuple(sorted(f"{name}: {'; '.join(row.hours.splitlines())}" for name, row in told if row is not None))
