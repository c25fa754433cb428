"""All that quality control measures in a campaign, worked out with each judging."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from campaigns.models import Campaign, ChannelSpec, Deployment
from methods.limits.model import LimitDefinition
from methods.quantities.durations import HOUR_MS
from methods.quantities.moments import utc_ms
from reports.content.canonical import number
from reports.models import Evaluation, Result
from reports.services.meter_noise import NoiseOfMeters
from reports.services.quality.checks import checks_measured
from reports.services.quality.duplicates import duplicates_measured
from reports.services.quality.runs import Limits, runs_measured
from reports.trace.quality import (
    FORMAT,
    NOTHING_MEASURED,
    ParameterComplete,
    QualityMeasured,
    read_quality,
)

#: (deployment, parameter) → how long its valid readings stand for, ms.
ValidTimes = Mapping[tuple[int, str], int]


def quality_of(campaign: Campaign) -> QualityMeasured:
    """As the last judging left it; nothing before the first one. One query."""
    stored = Evaluation.objects.filter(campaign=campaign).values_list("quality", flat=True).first()
    return NOTHING_MEASURED if stored is None else read_quality(stored)


def quality_measured(
    campaign: Campaign, deployments: Sequence[Deployment], limits: Iterable[LimitDefinition], meters: NoiseOfMeters
) -> QualityMeasured:
    """All but how complete it is, which the results tell. Reads the logs of runs, and where instruments stood
    together."""
    by_parameter: dict[str, list[LimitDefinition]] = defaultdict(list)
    for limit in limits:
        by_parameter[limit.parameter].append(limit)
    asked: Limits = dict(by_parameter)
    beside, zeros = runs_measured(campaign, asked)
    duplicates, together = duplicates_measured(campaign, deployments, asked, meters)
    charts, drifts = checks_measured(campaign, deployments, asked)
    return QualityMeasured(
        FORMAT, beside=beside, zeros=zeros, duplicates=duplicates, together=together, charts=charts, drifts=drifts
    )


def completed(
    measured: QualityMeasured,
    campaign: Campaign,
    deployments: Sequence[Deployment],
    parameters: Iterable[str],
    valid: ValidTimes,
) -> QualityMeasured:
    """With how complete it is, by parameter. The results are those stored now. Three queries."""
    usable = Result.objects.filter(criterion__campaign=campaign, value__isnull=False).order_by()
    reached: dict[str, set[int]] = defaultdict(set)
    for code, point in usable.values_list("criterion__limit__parameter", "point_id").distinct():
        reached[code].add(point)
    planned = set(campaign.planned_points.values_list("point_id", flat=True))
    points = planned or {deployment.point_id for deployment in deployments}
    types = {deployment.instrument.type_id for deployment in deployments}
    specs = ChannelSpec.objects.filter(instrument_type__in=types).order_by()
    measuring: dict[str, set[int]] = defaultdict(set)
    for kind, code in specs.values_list("instrument_type_id", "parameter"):
        measuring[code].add(kind)
    complete = []
    for code in dict.fromkeys(parameters):
        stays = [d for d in deployments if d.ends_at and d.instrument.type_id in measuring[code]]
        lengths = {d.pk: utc_ms(d.ends_at) - utc_ms(d.starts_at) for d in stays if d.ends_at}
        counted = sum(min(valid.get((pk, code), 0), length) for pk, length in lengths.items())
        complete.append(
            ParameterComplete(
                parameter=code,
                points=len(points & reached[code]),
                planned_points=len(points),
                valid_h=number(counted / HOUR_MS),
                planned_h=number(sum(lengths.values()) / HOUR_MS),
            )
        )
    return replace(measured, complete=tuple(complete))
