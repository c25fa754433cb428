"""All that quality control measures in a campaign, worked out with each judging."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from campaigns.models import Campaign, ChannelSpec, Deployment
from methods.limits.model import LimitDefinition
from methods.quantities.durations import HOUR_MS
from methods.quantities.moments import utc_ms
from methods.verdicts import Verdict
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
    """With how complete it is, by parameter. The results are those stored now. Four queries."""
    whole = _Plan.of(campaign, deployments)
    complete = []
    for code in dict.fromkeys(parameters):
        stays = [d for d in deployments if d.ends_at and d.instrument.type_id in whole.measuring[code]]
        lengths = {d.pk: utc_ms(d.ends_at) - utc_ms(d.starts_at) for d in stays if d.ends_at}
        counted = sum(min(valid.get((pk, code), 0), length) for pk, length in lengths.items())
        meant = whole.meant_for(code)
        complete.append(
            ParameterComplete(
                parameter=code,
                points=len(meant & whole.usable[code]),
                planned_points=len(meant),
                elsewhere=len(whole.points - meant),
                valid_h=number(counted / HOUR_MS),
                planned_h=number(sum(lengths.values()) / HOUR_MS),
            )
        )
    return replace(measured, complete=tuple(complete))


@dataclass(frozen=True)
class _Plan:
    """What was planned and done. ``points``: the planned ones, without a plan those where something stood;
    ``placed``: (point, type of the instrument) of each stay; ``measuring``: types by parameter; ``reached``: points
    with any result, and ``usable``: with a usable one, by parameter."""

    points: frozenset[int]
    placed: frozenset[tuple[int, int]]
    measuring: Mapping[str, set[int]]
    reached: Mapping[str, set[int]]
    usable: Mapping[str, set[int]]

    @classmethod
    def of(cls, campaign: Campaign, deployments: Sequence[Deployment]) -> _Plan:
        placed = frozenset((d.point_id, d.instrument.type_id) for d in deployments)
        planned = frozenset(campaign.planned_points.values_list("point_id", flat=True))
        specs = ChannelSpec.objects.filter(instrument_type__in={kind for _, kind in placed}).order_by()
        there = Result.objects.filter(criterion__campaign=campaign).order_by()
        counts = there.filter(value__isnull=False).exclude(verdict=Verdict.NOT_COMPARABLE)
        return cls(
            points=planned or frozenset(point for point, _ in placed),
            placed=placed,
            measuring=_by_code(specs.values_list("parameter", "instrument_type_id")),
            reached=_by_code(there.values_list(*_AT)),
            usable=_by_code(counts.exclude(evidence=Result.Evidence.FAILED).values_list(*_AT)),
        )

    def meant_for(self, code: str) -> frozenset[int]:
        """Points at which an instrument for the parameter stood, or of which a sample tells; and those at which nothing
        stood at all, as nobody can say that they were meant for something else."""
        measured = {point for point, kind in self.placed if kind in self.measuring[code]} | self.reached[code]
        if not measured:
            return frozenset()
        touched = {point for point, _ in self.placed}.union(*self.reached.values())
        return self.points & measured | self.points - touched


_AT = ("criterion__limit__parameter", "point_id")


def _by_code(rows: Iterable[tuple[str, int]]) -> Mapping[str, set[int]]:
    found: dict[str, set[int]] = defaultdict(set)
    for code, pk in rows:
        found[code].add(pk)
    return found
