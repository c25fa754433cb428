"""Judging a campaign: each deployment against each criterion, then each zone by its governing result.

Everything is computed before anything is written. What was written before and rests on the same inputs (the same
digest) stays as it is; what no longer exists goes.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from campaigns.enqueue import Outcome
from campaigns.models import Campaign, Job, SamplingPoint
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
from reports.verdicts import Levels, Verdict, judge

Fields = dict[str, Any]


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
    return Job.State.DONE, "judged", f"{len(found):,} results, {findings:,} findings."


def results_of(campaign: Campaign, job: Job | None = None) -> Iterator[tuple[Criterion, Placed, Fields]]:
    criteria = [(c, c.limit.as_library()) for c in campaign.criteria.select_related("limit")]
    wanted = {limit.parameter for _, limit in criteria}
    deployments = list(campaign.deployments.select_related("point", "instrument"))
    if job:
        job.beat(0, len(deployments), "deployments")
    held = {(r.criterion_id, r.deployment_id): r for r in Result.objects.filter(criterion__campaign=campaign)}
    names = {u.pk: u for u in Upload.objects.filter(instrument__deployments__campaign=campaign).distinct()}
    for n, placed in enumerate(placed_in(campaign, deployments=deployments)):
        if job and n % 10 == 0:
            job.beat(min(n, len(deployments)))
        if placed.channel.spec.parameter not in wanted:
            continue
        for criterion, limit in criteria:
            if limit.parameter == placed.channel.spec.parameter:
                digest = digests.of_result(placed, limit, campaign)
                before = held.get((criterion.pk, placed.deployment.pk))
                if before is not None and before.digest == digest:
                    yield criterion, placed, {}
                else:
                    yield criterion, placed, {"digest": digest, **_judged(placed, limit, campaign, names)}


def _judged(placed: Placed, limit: LibraryLimit, campaign: Campaign, uploads: dict[int, Upload]) -> Fields:
    """The columns of a Result for these readings against this limit."""
    base: Fields = {"point_id": placed.deployment.point_id, "unit": limit.unit, "method": digests.METHOD}
    try:
        how = terms(placed.channel.spec, limit)
    except NotConvertible as error:
        return base | _without_value("not-convertible", str(error))
    outdoors = placed.deployment.point.kind == SamplingPoint.Kind.OUTDOOR
    measured = measure(placed, limit, how, outdoors)
    if measured is None or measured.estimate is None or measured.window is None:
        return base | _without_value("no-readings", "No reading of this visit counts: see the flags.")
    levels = Levels(campaign.level_above, campaign.level_below)
    judgement = judge(measured.estimate, limit, levels, measured.comparability)
    advice = judgement.would_decide.words if judgement.would_decide else ""
    return base | {
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
        "trace": _trace(placed, measured, how, uploads) | {"advice": advice, "levels": levels.words},
    }


def _without_value(code: str, words: str) -> Fields:
    return {
        "verdict": Verdict.NOT_COMPARABLE.value, "value": None, "u": None, "p_above": None, "reading_count": 0,
        "coverage": None, "window_start": None, "window_end": None, "comparability": "no",
        "reasons": [{"code": code, "words": words}], "budget": [], "trace": {},
    }  # fmt: skip


def _row(row: Row) -> Fields:
    return {"name": row.name, "u": row.u, "share": row.share, "source": row.source, "missing": row.missing}


def _trace(placed: Placed, measured: Measured, how: Terms, uploads: dict[int, Upload]) -> Fields:
    """From the number down to the lines of the original files."""
    assert measured.window is not None
    estimate = measured.estimate
    first, last = measured.window.first, measured.window.last
    return {
        "instrument": str(placed.deployment.instrument),
        "channel": str(placed.channel.spec),
        "interval_s": placed.interval_ms / 1000,
        "unit": how.unit_text,
        "lower": estimate.lower if estimate else None,
        "upper": estimate.upper if estimate else None,
        "is_lower_bound": measured.window.is_lower_bound,
        "said": measured.said,
        "first": _reading(placed, first, uploads),
        "last": _reading(placed, last, uploads),
    }


def _reading(placed: Placed, index: int, uploads: dict[int, Upload]) -> Fields:
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


def keep(campaign: Campaign, found: list[tuple[Criterion, Placed, Fields]], started: datetime) -> bool:
    """Write what changed and drop what is gone. False if a later run has been here already."""
    evaluation, _ = Evaluation.objects.select_for_update().get_or_create(
        campaign=campaign, defaults={"at": started, "method": digests.METHOD, "digest": ""}
    )
    if evaluation.at > started:
        return False
    there = []
    for criterion, placed, fields in found:
        if fields:
            row, _ = Result.objects.update_or_create(criterion=criterion, deployment=placed.deployment, defaults=fields)
            there.append(row.pk)
    unchanged = {(c.pk, p.deployment.pk) for c, p, fields in found if not fields}
    rows = Result.objects.filter(criterion__campaign=campaign).values_list("pk", "criterion_id", "deployment_id")
    gone = [pk for pk, c, d in rows if pk not in set(there) and (c, d) not in unchanged]
    Result.objects.filter(pk__in=gone).delete()
    evaluation.at, evaluation.method = started, digests.METHOD
    evaluation.digest = digests.of_parts(
        sorted(Result.objects.filter(criterion__campaign=campaign).values_list("digest", flat=True))
    )
    evaluation.save()
    return True
