"""Judging a campaign: each deployment against each criterion, then each zone by its governing result.

Everything is computed before anything is written. What was written before and rests on the same inputs (the same
digest) stays as it is; what no longer exists goes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from campaigns.enqueue import Outcome
from campaigns.models import Campaign, Deployment, Job
from campaigns.stamps import utc_moment
from readings.models import Upload
from readings.queries import placed_in
from readings.units import NotConvertible
from reports.limits.model import Limit as LibraryLimit
from reports.models import Criterion, Evaluation, Result
from reports.services import digests
from reports.services.circumstances import Circumstances, around
from reports.services.groups import personal_in
from reports.services.measuring import Measured, measure
from reports.services.outdoor import Outdoors, outdoors_of
from reports.services.stays import Stay, stays_of
from reports.services.tracing import Uploads, p_not_met, trace_of
from reports.services.upsert import upsert
from reports.services.zones import judge_zones
from reports.uncertainty import Row
from reports.verdicts import Judgement, Levels, Verdict, judge

Fields = dict[str, Any]
CHANGING = (
    "point", "verdict", "value", "u", "p_above", "unit", "reading_count", "coverage", "window_start", "window_end",
    "comparability", "reasons", "budget", "trace", "method", "digest",
)  # fmt: skip


@dataclass(frozen=True)
class Found:
    """What one deployment says about one criterion. ``fields`` is None where the stored result still stands.

    ``same_unit``: the channel measures in the limit's own unit.
    """

    criterion: Criterion
    deployment: Deployment
    fields: Fields | None
    same_unit: bool = True

    @property
    def place(self) -> tuple[int, int]:
        return self.criterion.pk, self.deployment.pk


def evaluate_campaign(job: Job) -> Outcome:
    """The job "evaluate"."""
    campaign = Campaign.objects.select_related("site").get(pk=job.subject_id)
    started = timezone.now()
    found = list(results_of(campaign, job))
    with transaction.atomic():
        job.beat()
        if not keep(campaign, found, started):
            return Job.State.DONE, "overtaken", "Judged again meanwhile, from newer inputs."
        findings = judge_zones(campaign)
    return Job.State.DONE, "judged", f"{len({f.place for f in found}):,} results, {findings:,} findings."


def results_of(campaign: Campaign, job: Job | None = None) -> Iterator[Found]:
    """Every deployment with readings against every criterion for what it measured."""
    judged_by = [(c, c.limit.as_library()) for c in campaign.criteria.select_related("limit")]
    criteria = [(c, limit, digests.canonical(digests.said_of(limit))) for c, limit in judged_by]
    levels = digests.canonical([campaign.level_below, campaign.level_above])
    wanted = {limit.parameter for _, limit in judged_by}
    deployments = list(campaign.deployments.select_related("point__room__zone__floor__building", "instrument"))
    if job:
        job.beat(0, len(deployments), "deployments")
    held = {
        (criterion, deployment): digest
        for criterion, deployment, digest in Result.objects.filter(criterion__campaign=campaign).values_list(
            "criterion_id", "deployment_id", "digest"
        )
    }
    uploads = {u.pk: u for u in Upload.objects.filter(instrument__deployments__campaign=campaign).distinct()}
    known = Known(campaign, uploads, outdoors_of(campaign, deployments, wanted), personal_in(campaign))
    for n, stay in enumerate(stays_of(placed_in(campaign, deployments=deployments), deployments)):
        if job and n % 10 == 0:
            job.beat(min(n, len(deployments)))
        if stay.parameter not in wanted:
            continue
        readings = digests.canonical([digests.of_readings(part) for part in stay.parts])
        around = known.around(stay)
        beside = digests.canonical([around.said(), known.outdoor_digest(stay, around)])
        for criterion, limit, said in criteria:
            if limit.parameter != stay.parameter:
                continue
            digest = digests.of_result(readings, said, levels, beside)
            stands = held.get((criterion.pk, stay.deployment.pk)) == digest
            fields = None if stands else {"digest": digest, **_judged(stay, limit, around, known)}
            yield Found(criterion, stay.deployment, fields, stay.first.unit == limit.unit)


@dataclass(frozen=True)
class Known:
    """What is read once for all results of a campaign. ``personal``: deployments worn by a person."""

    campaign: Campaign
    uploads: Uploads
    outdoors: Outdoors
    personal: frozenset[int]

    def around(self, stay: Stay) -> Circumstances:
        personal = all(deployment.pk in self.personal for deployment in stay.deployments)
        return around(self.campaign, stay.deployment, personal=personal, outdoor_at=self.outdoors.at)

    def outdoor_digest(self, stay: Stay, around: Circumstances) -> list[str]:
        if around.outdoors:
            return []
        first, last = stay.parts[0].utc_ms[0], stay.parts[-1].utc_ms[-1]
        return self.outdoors.digest(stay.parameter, int(first), int(last))


def _judged(stay: Stay, limit: LibraryLimit, around: Circumstances, known: Known) -> Fields:
    """The columns of a Result for these readings against this limit."""
    base: Fields = {"point_id": stay.deployment.point_id, "unit": limit.unit, "method": digests.METHOD}
    try:
        found = measure(stay, limit, around)
    except NotConvertible as error:
        return base | _without_value("not-convertible", str(error))
    levels = Levels(known.campaign.level_above, known.campaign.level_below)
    judged = [
        (judge(measured.estimate, limit, levels, measured.comparability), measured)
        for measured in found
        if measured.estimate is not None
    ]
    if not judged:
        return base | _without_value("no-readings", "No reading of this visit counts: see the flags.")
    judgement, measured = min(judged, key=lambda one: concern(one[0]))
    return base | _columns(judgement, measured) | {"trace": trace_of(judgement, measured, around, known.uploads)}


def concern(judgement: Judgement) -> tuple[int, float]:
    """Order of concern: a limit not met, one undecided, one met; among equals the one more likely not met."""
    return {False: 0, None: 1, True: 2}[judgement.is_met], -(p_not_met(judgement) or 0.0)


def _columns(judgement: Judgement, measured: Measured) -> Fields:
    assert measured.estimate is not None
    assert measured.window is not None
    return {
        "verdict": judgement.verdict.value,
        "value": measured.estimate.value,
        "u": measured.estimate.budget.combined,
        "p_above": judgement.p_above,
        "reading_count": measured.window.n,
        "coverage": measured.window.coverage,
        "window_start": utc_moment(measured.window.start_ms),
        "window_end": utc_moment(measured.window.end_ms),
        "comparability": measured.comparability.state.word,
        "reasons": [{"code": r.code, "words": r.words} for r in judgement.reasons],
        "budget": [_row(row) for row in measured.estimate.budget.rows()],
    }


def _without_value(code: str, words: str) -> Fields:
    return {
        "verdict": Verdict.NOT_COMPARABLE.value, "value": None, "u": None, "p_above": None, "reading_count": 0,
        "coverage": None, "window_start": None, "window_end": None, "comparability": "no",
        "reasons": [{"code": code, "words": words}], "budget": [], "trace": {},
    }  # fmt: skip


def _row(row: Row) -> Fields:
    return {"name": row.name, "u": row.u, "share": row.share, "source": row.source, "missing": row.missing}


def keep(campaign: Campaign, found: Iterable[Found], started: datetime) -> bool:
    """Write what changed and drop what is gone. False if a later run has been here already."""
    evaluation, _ = Evaluation.objects.select_for_update().get_or_create(
        campaign=campaign, defaults={"at": started, "method": digests.METHOD, "digest": ""}
    )
    if evaluation.at > started:
        return False
    there = one_each(found)
    stored = Result.objects.filter(criterion__campaign=campaign)
    gone = [pk for pk, *place in stored.values_list("pk", "criterion_id", "deployment_id") if tuple(place) not in there]
    Result.objects.filter(pk__in=gone).delete()
    new = [
        Result(criterion=one.criterion, deployment=one.deployment, **one.fields)
        for one in there.values()
        if one.fields is not None
    ]
    upsert(new, unique=("criterion", "deployment"), changing=CHANGING)
    evaluation.at, evaluation.method = started, digests.METHOD
    evaluation.digest = digests.of_parts(sorted(stored.values_list("digest", flat=True)))
    evaluation.save()
    return True


def one_each(found: Iterable[Found]) -> dict[tuple[int, int], Found]:
    """One result per criterion and deployment. An instrument with two channels for one parameter speaks through the
    one that measures in the limit's own unit, else through the first."""
    there: dict[tuple[int, int], Found] = {}
    for one in found:
        other = there.get(one.place)
        if other is None or (one.same_unit and not other.same_unit):
            there[one.place] = one
    return there
