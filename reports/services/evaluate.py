"""Judging a campaign: each deployment against each criterion, then each zone by its governing result.

Everything is computed before anything is written. What was written before and rests on the same inputs (the same
digest) stays as it is; what no longer exists goes.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from datetime import datetime

from django.db import transaction
from django.utils import timezone

from campaigns import parallel
from campaigns.enqueue import Outcome
from campaigns.models import Campaign, Job
from reports.models import Evaluation, Result
from reports.services import digests
from reports.services.judging import RESULTS, Known, Place, StayJudged, judged
from reports.services.quality.measured import completed, quality_measured
from reports.services.work_sharing import shares
from reports.services.zone_findings import judge_zones
from reports.trace.quality import QUALITY, QualityMeasured

PLACED = ("pk", "criterion_id", "deployment_id")


def evaluate_campaign(job: Job) -> Outcome:
    """The job "evaluate"."""
    campaign = Campaign.objects.select_related("site").get(pk=job.subject_id)
    started = job.started_at or timezone.now()  # by the clock of the database: those of hosts differ
    known = Known.of(campaign)
    judged = results_of(known, job)
    quality = quality_measured(campaign, known.deployments, known.limits, known.meters)
    with parallel.seldom_collected(), transaction.atomic():
        job.beat()
        there = one_each(judged)
        if not keep(campaign, there, started):
            return Job.State.SUPERSEDED, "superseded", "Judged again meanwhile, from newer inputs."
        keep_quality(known, quality, judged)
        told = {place: each.told for place, each in there.items() if each.told is not None}
        findings = judge_zones(campaign, known.deployments, told)
    return Job.State.DONE, "judged", f"{len(there):,} results, {findings:,} findings."


def results_of(known: Known, job: Job | None = None) -> list[StayJudged]:
    """Every deployment with readings against every criterion for what it measured, by as many processes as there are
    processors: what a result costs is mostly its own numbers."""
    parts = shares(known.deployments, known.stored, parallel.count())
    if job:
        job.beat(0, len(known.deployments), "deployments")
    results_judged, there = [], set()
    with parallel.shared_out(
        lambda part: judged(known, part), parts, job.beat if job else parallel.patiently
    ) as results:
        for result in results:
            results_judged.append(result)
            there.add(result.deployment)
            if job and job.is_due:
                job.beat(len(there))
    if job:
        job.beat(len(known.deployments))
    return results_judged


def keep(campaign: Campaign, there: Mapping[Place, StayJudged], started: datetime) -> bool:
    """Write what changed and drop what is gone of what deployments say. False if a later run has been here already."""
    evaluation, _ = Evaluation.objects.select_for_update().get_or_create(
        campaign=campaign, defaults={"at": started, "method": digests.METHOD, "digest": ""}
    )
    if evaluation.at > started:
        return False
    stored = Result.objects.filter(criterion__campaign=campaign, deployment__isnull=False)
    held = {(criterion, deployment): pk for pk, criterion, deployment in stored.values_list(*PLACED)}
    Result.objects.filter(pk__in=[pk for place, pk in held.items() if place not in there]).delete()
    made = {place: stay_judged.row for place, stay_judged in there.items() if stay_judged.row is not None}
    RESULTS.add([row for place, row in made.items() if place not in held])
    RESULTS.write([row for place, row in made.items() if place in held])
    evaluation.at, evaluation.method = started, digests.METHOD
    evaluation.digest = digests.of_parts(sorted(stay_judged.digest for stay_judged in there.values()))
    evaluation.save()
    return True


def keep_quality(known: Known, quality: QualityMeasured, judged: Iterable[StayJudged]) -> None:
    """What quality control measured, with how complete the results are that have just been kept."""
    valid: dict[tuple[int, str], int] = {}
    for deployment, parameter, ms in (each for stay_judged in judged for each in stay_judged.valid):
        valid[deployment, parameter] = max(ms, valid.get((deployment, parameter), 0))
    whole = completed(quality, known.campaign, known.deployments, known.criteria, valid)
    Evaluation.objects.filter(campaign=known.campaign).update(quality=json.loads(QUALITY.text(whole)))


def one_each(judged: Iterable[StayJudged]) -> dict[Place, StayJudged]:
    """One result per criterion and deployment. An instrument with two channels for one parameter speaks through the
    one that measures in the limit's own unit; of several probes through the one of most concern; else the first."""
    there: dict[Place, StayJudged] = {}
    for stay_judged in judged:
        other = there.get(stay_judged.place)
        if other is None or _order(stay_judged) < _order(other):
            there[stay_judged.place] = stay_judged
    return there


def _order(judged: StayJudged) -> tuple[bool, tuple[int, float, float]]:
    return not judged.same_unit, judged.concern
