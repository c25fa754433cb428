"""What judging again would change, before it is done: judged as always, compared, and taken back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.db import transaction
from django.utils import timezone

from campaigns import parallel
from campaigns.models import Campaign, Zone
from reports.models import Evaluation, Finding, Result
from reports.services.evaluate import keep, keep_quality, one_each, results_of
from reports.services.judging import Known
from reports.services.quality.measured import quality_measured
from reports.services.zone_findings import judge_zones

NONE = "none"


@dataclass(frozen=True, slots=True)
class FindingSaid:
    """Of a finding: the verdict, the fraction of the limit, and the statement that is printed."""

    verdict: str = NONE
    fraction: float | None = None
    statement: str = ""


#: By zone and criterion, their ids.
Findings = dict[tuple[int, int], FindingSaid]


@dataclass(frozen=True, slots=True)
class FindingChange:
    """A finding that would be another one; ``before`` or ``after`` says ``none`` where there is or would be none."""

    zone: str
    limit: str
    before: FindingSaid
    after: FindingSaid

    @property
    def is_of_verdict(self) -> bool:
        return self.before.verdict != self.after.verdict


@dataclass(frozen=True, slots=True)
class WouldChange:
    """Of one campaign. ``method``: by which it was judged before, "" for none; ``judged``: how many results there would
    be; ``results``: how many would have another value, uncertainty or verdict, come or go."""

    method: str
    judged: int
    results: int
    findings: tuple[FindingChange, ...]


def would_change(campaign: Campaign) -> WouldChange:
    """What the methods of today make of the campaign, against what is stored. Nothing stays written.

    As long as what would be written is compared, SQLite has other writers wait, as for every judging.
    """
    known = Known.of(campaign)
    judged = results_of(known) if known.deployments else []
    quality = quality_measured(campaign, known.deployments, known.limits, known.meters)
    former = Evaluation.objects.filter(campaign=campaign).values_list("method", flat=True).first() or ""
    with parallel.seldom_collected(), transaction.atomic():
        findings, results = _findings(campaign), _results(campaign)
        there = one_each(judged)
        Evaluation.objects.filter(campaign=campaign, at__gt=(now := timezone.now())).update(at=now)
        keep(campaign, there, now)
        keep_quality(known, quality, judged)
        told = {place: each.told for place, each in there.items() if each.told is not None}
        judge_zones(campaign, known.deployments, told)
        new_findings, new_results = _findings(campaign), _results(campaign)
        transaction.set_rollback(True)
    changed = sum(results.get(place) != new_results.get(place) for place in results.keys() | new_results.keys())
    return WouldChange(former, len(new_results), changed, tuple(_changes(campaign, findings, new_findings)))


def _findings(campaign: Campaign) -> Findings:
    rows = Finding.objects.filter(criterion__campaign=campaign)
    return {
        (row.zone_id, row.criterion_id): FindingSaid(row.verdict, row.fraction, row.statement)
        for row in rows.only("zone_id", "criterion_id", "verdict", "fraction", "statement")
    }


def _results(campaign: Campaign) -> dict[tuple[int, int | None], tuple[str, float | None, float | None]]:
    rows = Result.objects.filter(criterion__campaign=campaign)
    columns = ("criterion_id", "deployment_id", "verdict", "value", "u")
    return {(place, stay): (verdict, value, u) for place, stay, verdict, value, u in rows.values_list(*columns)}


def _changes(campaign: Campaign, before: Findings, after: Findings) -> Iterator[FindingChange]:
    changed = [key for key in before.keys() | after.keys() if before.get(key) != after.get(key)]
    zones = Zone.objects.select_related("floor__building").in_bulk({zone for zone, _ in changed})
    limits = {criterion.pk: str(criterion.limit) for criterion in campaign.criteria.select_related("limit")}
    for zone, criterion in sorted(changed):
        where = f"{zones[zone]}, {zones[zone].floor}, {zones[zone].floor.building}"
        was, will_be = before.get((zone, criterion), FindingSaid()), after.get((zone, criterion), FindingSaid())
        yield FindingChange(where, limits[criterion], was, will_be)
