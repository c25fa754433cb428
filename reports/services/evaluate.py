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
from campaigns.models import Campaign, Deployment, Job, SamplingPoint
from campaigns.stamps import stamp_text, utc_moment
from readings.models import Upload
from readings.queries import Placed, placed_in
from readings.units import NotConvertible
from reports.limits.model import Limit as LibraryLimit
from reports.models import Criterion, Evaluation, Result
from reports.services import digests
from reports.services.estimates import Measured, measure
from reports.services.terms import Terms, terms
from reports.services.zones import judge_zones
from reports.uncertainty import Row
from reports.verdicts import Judgement, Levels, Verdict, judge

Fields = dict[str, Any]
Uploads = dict[int, Upload]
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
    criteria = [(c, c.limit.as_library()) for c in campaign.criteria.select_related("limit")]
    wanted = {limit.parameter for _, limit in criteria}
    deployments = list(campaign.deployments.select_related("point", "instrument"))
    if job:
        job.beat(0, len(deployments), "deployments")
    held = {
        (criterion, deployment): digest
        for criterion, deployment, digest in Result.objects.filter(criterion__campaign=campaign).values_list(
            "criterion_id", "deployment_id", "digest"
        )
    }
    uploads = {u.pk: u for u in Upload.objects.filter(instrument__deployments__campaign=campaign).distinct()}
    for n, placed in enumerate(placed_in(campaign, deployments=deployments)):
        if job and n % 10 == 0:
            job.beat(min(n, len(deployments)))
        spec = placed.channel.spec
        if spec.parameter not in wanted:
            continue
        for criterion, limit in criteria:
            if limit.parameter != spec.parameter:
                continue
            digest = digests.of_result(placed, limit, campaign)
            stands = held.get((criterion.pk, placed.deployment.pk)) == digest
            fields = None if stands else {"digest": digest, **_judged(placed, limit, campaign, uploads)}
            yield Found(criterion, placed.deployment, fields, spec.unit == limit.unit)


def _judged(placed: Placed, limit: LibraryLimit, campaign: Campaign, uploads: Uploads) -> Fields:
    """The columns of a Result for these readings against this limit."""
    base: Fields = {"point_id": placed.deployment.point_id, "unit": limit.unit, "method": digests.METHOD}
    try:
        how = terms(placed.channel.spec, limit)
    except NotConvertible as error:
        return base | _without_value("not-convertible", str(error))
    outdoors = placed.deployment.point.kind == SamplingPoint.Kind.OUTDOOR
    levels = Levels(campaign.level_above, campaign.level_below)
    judged = [
        (judge(measured.estimate, limit, levels, measured.comparability), measured)
        for measured in measure(placed, limit, how, outdoors)
        if measured.estimate is not None
    ]
    if not judged:
        return base | _without_value("no-readings", "No reading of this visit counts: see the flags.")
    judgement, measured = min(judged, key=lambda one: concern(one[0]))
    return base | _columns(judgement, measured) | {"trace": _trace(placed, judgement, measured, how, uploads)}


def concern(judgement: Judgement) -> tuple[int, float]:
    """Order of concern: a limit not met, one undecided, one met; among equals the one more likely not met."""
    return {False: 0, None: 1, True: 2}[judgement.is_met], -(p_not_met(judgement) or 0.0)


def p_not_met(judgement: Judgement) -> float | None:
    """The probability that the limit is not met: above an upper one, or under a lower one."""
    if judgement.p_above is None or judgement.edge is None:
        return None
    return judgement.p_above if judgement.edge.is_upper else 1.0 - judgement.p_above


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


def _trace(placed: Placed, judgement: Judgement, measured: Measured, how: Terms, uploads: Uploads) -> Fields:
    """What the sentence needs beside the columns, and the way from the number down to the lines of the files."""
    assert measured.estimate is not None
    assert measured.window is not None
    edge = judgement.edge
    return {
        "instrument": str(placed.deployment.instrument),
        "channel": str(placed.channel.spec),
        "interval_s": placed.interval_ms / 1000,
        "unit": how.unit_text,
        "lower": measured.estimate.lower,
        "upper": measured.estimate.upper,
        "is_lower_bound": measured.window.is_lower_bound,
        "said": measured.said,
        "is_context": measured.is_context,
        "first": _reading(placed, measured.window.first, uploads),
        "last": _reading(placed, measured.window.last, uploads),
        "advice": judgement.would_decide.words if judgement.would_decide else "",
        "levels": judgement.levels.words,
        "words": judgement.words,
        "is_met": judgement.is_met,
        "p_not_met": p_not_met(judgement),
        "edge": None if edge is None else edge.value,
        "is_upper": edge is None or edge.is_upper,
    }


def _reading(placed: Placed, index: int, uploads: Uploads) -> Fields:
    upload = uploads.get(int(placed.upload_id[index]))
    return {
        "upload": str(upload.key) if upload else "",
        "file": upload.filename if upload else "",
        "sha256": upload.sha256 if upload else "",
        "line": int(placed.line[index]),
        "stamp": stamp_text(int(placed.stamp[index])),
        "at": utc_moment(int(placed.utc_ms[index])).isoformat(),
        "raw": None if placed.raw[index] != placed.raw[index] else float(placed.raw[index]),
        "value": float(placed.value[index]),
    }


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
    Result.objects.bulk_create(
        [
            Result(criterion=one.criterion, deployment=one.deployment, **one.fields)
            for one in there.values()
            if one.fields is not None
        ],
        update_conflicts=True,
        unique_fields=("criterion", "deployment"),
        update_fields=CHANGING,
        batch_size=500,
    )
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
