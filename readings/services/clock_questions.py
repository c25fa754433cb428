"""Questions about the clocks of a campaign's instruments that are open, and leaving one open with a reason."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta

from django.core.exceptions import ValidationError
from django.db.models import Q, QuerySet
from django.utils import timezone

from campaigns.models import Campaign, Instrument, User
from campaigns.services.records import all_or_nothing, check
from campaigns.signals import inputs_changed
from methods.quantities.moments import stamp_ms
from readings.models import ClockLag, ClockQuestionLeft, Problem, Upload
from readings.services.clock_review import CODES

ANSWERED = "Nothing is asked about the clock of this instrument any more."


@dataclass(frozen=True)
class OpenClockQuestion:
    """All that is asked about one instrument; ``left``: why a person leaves it open, None where nobody said."""

    instrument: Instrument
    words: str
    left: ClockQuestionLeft | None


def open_questions(campaign: Campaign) -> list[OpenClockQuestion]:
    """By name of the instrument. Four queries at most."""
    asked: dict[int, list[str]] = defaultdict(list)
    for instrument, message in _of_logs(campaign).values_list("upload__instrument", "message"):
        asked[instrument].append(message)
    lags = ClockLag.objects.filter(campaign=campaign, settled_at__isnull=True).select_related("instrument")
    for lag in lags.order_by("instrument", "day"):
        asked[lag.instrument_id].append(lag.words)
    if not asked:
        return []
    rows = ClockQuestionLeft.objects.filter(campaign=campaign).select_related("by").order_by("pk")
    left = {(row.instrument_id, row.question): row for row in rows}
    instruments = Instrument.objects.filter(pk__in=asked).order_by("name", "pk")
    told = [(instrument, "\n".join(dict.fromkeys(asked[instrument.pk]))) for instrument in instruments]
    return [OpenClockQuestion(instrument, words, left.get((instrument.pk, words))) for instrument, words in told]


def _of_logs(campaign: Campaign) -> QuerySet[Problem]:
    """Of files handed in for the campaign, and of others of its instruments that reach into its days."""
    first, last = (
        stamp_ms(datetime.combine(day, time(), tzinfo=UTC)) for day in
        (campaign.starts_on - timedelta(days=1), campaign.ends_on + timedelta(days=2))
    )  # fmt: skip
    theirs = Q(upload__instrument__in=campaign.deployments.values("instrument"))
    theirs &= Q(upload__first_stamp_ms__lte=last, upload__last_stamp_ms__gte=first)
    rows = Problem.objects.filter(Q(upload__campaign=campaign) | theirs, code__in=CODES)
    rows = rows.filter(upload__state=Upload.State.ATTENTION, upload__instrument__isnull=False)
    return rows.order_by("upload", "pk")


def leave_open(campaign: Campaign, instrument: Instrument, reason: str, by: User) -> ClockQuestionLeft:
    """Say why the report can be released although a question is open; what was said last holds. Raises ValidationError
    where nothing is asked."""
    question = next((q for q in open_questions(campaign) if q.instrument == instrument), None)
    if question is None:
        raise ValidationError(ANSWERED)
    row = ClockQuestionLeft(
        campaign=campaign, instrument=instrument, question=question.words, reason=reason.strip(), by=by
    )
    with all_or_nothing(ClockQuestionLeft):
        check(row)
        row.save(force_insert=True)
    return row


def settle(lag: ClockLag, reason: str, by: User) -> ClockLag:
    """Say why logs that lag each other do so without a clock being off. Its results are judged again."""
    with all_or_nothing(ClockLag):
        row = ClockLag.objects.select_for_update().filter(pk=lag.pk).first()
        if row is None:
            raise ValidationError(ANSWERED)
        row.reason, row.settled_at, row.settled_by = reason.strip(), timezone.now(), by
        check(row)
        row.save()
        inputs_changed.send(ClockLag, campaign_ids=[row.campaign_id])
    return row
