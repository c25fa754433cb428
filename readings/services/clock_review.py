"""What a person has to decide about where a log lies in time: said in words, never decided here.

Asked when a log has been read, and again when its instrument's clock or deployments change. Nothing is asked while the
instrument stood nowhere: a log may come before its visits are entered.
"""

from __future__ import annotations

from collections.abc import Iterator

from django.db import transaction
from django.db.models import F, QuerySet

from campaigns.enqueue import Outcome, enqueue
from campaigns.models import ClockCheck, Instrument, Job
from methods.logs.types import LogProblem
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import stamp_text
from readings.job_kinds import READ_UPLOAD, REVIEW_CLOCK
from readings.models import ClockLag, Upload
from readings.models import Problem as ProblemRow
from readings.queries import placement_of
from readings.queries.bursts import Laid, Stretch, laid

CLOCK, RESET, OUTSIDE = "clock-doubtful", "clock-set", "outside-deployments"
CODES = (CLOCK, RESET, OUTSIDE)

#: A suggestion is worth a question where it lays this much more of the logged time on deployments.
WORTH = 0.1


def doubts(laid_log: Laid | None) -> list[LogProblem]:
    """What to decide about a file as it lies now, most telling first; empty where nothing is."""
    if laid_log is None or not len(laid_log.spans):
        return []
    asked = [*reset_questions(laid_log), *(problem for s in laid_log.stretches for problem in clock_questions(s))]
    return asked or list(_outside(laid_log))


def reset_questions(laid_log: Laid) -> Iterator[LogProblem]:
    """Steps back of the stamps that nobody explained, unless checks speak for every side of them."""
    answered = {answer.place for answer in laid_log.clock.answers}
    open_ = [r for r in laid_log.resets if r.kind == "backward" and r.place not in answered]
    if open_ and not all(stretch.checked for stretch in laid_log.stretches):
        first = open_[0]
        more = f", and {len(open_) - 1} more times" if len(open_) > 1 else ""
        yield LogProblem(
            0, "", stamp_text(first.after_ms), RESET,
            f"The stamps step back from {stamp_text(first.before_ms)} to {stamp_text(first.after_ms)}{more}. "
            "Was the clock set there, and by how much? Until that is said, times on one side of it may be wrong.",
        )  # fmt: skip


def clock_questions(stretch: Stretch) -> Iterator[LogProblem]:
    """A confident suggestion that differs from what is used, where no clock check was made."""
    if stretch.checked:
        return
    suggestion = stretch.suggestion
    if (
        not suggestion.speaks
        or suggestion.offset_ms is None
        or abs(suggestion.offset_ms - stretch.used_ms) <= MINUTE_MS
    ):
        return
    if stretch.fits_at(suggestion.offset_ms)[1] - stretch.fits_now[1] >= WORTH:
        now = stretch.fits_now[0]
        yield LogProblem(
            0, "", "", CLOCK,
            f"{suggestion.sentence} As its clock stands, {now} {'does' if now == 1 else 'do'}. "
            "There is no clock check. "
            "Nothing was moved: confirm it on the clock page, or enter a clock check.",
        )  # fmt: skip


def nothing_deployed(laid_log: Laid) -> bool:
    """Whether no reading falls into a deployment: also not by what a logged mean before its stamp stands for."""
    lie_apart = all(stretch.fits_now[1] == 0 for stretch in laid_log.stretches)
    if not lie_apart:
        return False
    placement = placement_of(laid_log.upload)
    return not placement.shares and not placement.in_runs


def _outside(laid_log: Laid) -> Iterator[LogProblem]:
    if laid_log.upload.outside == Upload.Outside.LEFT:
        return
    if nothing_deployed(laid_log):
        yield LogProblem(
            0, "", "", OUTSIDE,
            f"No reading of this file falls into a deployment of {laid_log.upload.instrument}. "
            "Either its clock is off, "
            "or a deployment is missing or has the wrong time.",
        )  # fmt: skip


# --- asked again ------------------------------------------------------------------------------------------------------


def ask_again(instrument: Instrument) -> None:
    """Queue another look at the logs of an instrument whose clock or deployments have changed."""
    if _logs_of(instrument.pk).exists():
        enqueue(REVIEW_CLOCK, instrument.pk, organisation_id=instrument.organisation_id, owner=None)


def _logs_of(instrument_id: int) -> QuerySet[Upload]:
    read = Upload.objects.filter(instrument=instrument_id, bursts__isnull=False)
    return read.exclude(state=Upload.State.WITHDRAWN)


def review_instrument(job: Job) -> Outcome:
    """The job "review-clock": every log of the instrument that was read is asked about again."""
    waiting = 0
    for upload in _logs_of(job.subject_id).select_related("campaign__site", "instrument"):
        job.beat()
        waiting += _review(upload)
    if waiting:
        logs = "1 log has" if waiting == 1 else f"{waiting} logs have"
        return (
            Job.State.DONE,
            "review-asks",
            f"{logs} something to decide about its time."
            if waiting == 1
            else (f"{logs} something to decide about their time."),
        )
    if ClockLag.objects.filter(instrument=job.subject_id, settled_at__isnull=True).exists():
        return Job.State.DONE, "review-asks", "Other logs rise at another time: see its clock."
    if not ClockCheck.objects.filter(instrument=job.subject_id).exists():
        return Job.State.DONE, "review-clear", "Its log asks nothing about the clock; no clock check was entered."
    return Job.State.DONE, "review-clear", "Nothing to decide about the clock."


def _review(upload: Upload) -> bool:
    """Whether something is to be decided. Leaves alone a file that waits for another reason."""
    held = upload.problems.filter(code__in=CODES)
    waits_for_this = upload.state == Upload.State.ATTENTION and held.exists()
    if upload.state != Upload.State.READ and not waits_for_this:
        return False
    asked = doubts(laid(upload))
    with transaction.atomic():
        gone, _ = held.delete()
        ProblemRow.objects.bulk_create(
            ProblemRow(upload=upload, line=p.line, column=p.column, value=p.value, code=p.code, message=p.message)
            for p in asked
        )
        Upload.objects.filter(pk=upload.pk).update(
            state=Upload.State.ATTENTION if asked else Upload.State.READ,
            problem_count=F("problem_count") + len(asked) - gone,
        )
        if not asked:
            _settle_jobs(upload)
    return bool(asked)


def _settle_jobs(upload: Upload) -> None:
    """What the reading of the file ended with is decided now."""
    ended = Job.objects.filter(kind=READ_UPLOAD, subject_id=upload.pk, state=Job.State.ATTENTION, code__in=CODES)
    ended.update(
        state=Job.State.DONE, code="read", message=f"{upload.stored:,} readings stored; where they lie is decided."
    )
