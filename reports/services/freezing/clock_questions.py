"""Questions about clocks that a report is released with, each with what a person says of it."""

from __future__ import annotations

from datetime import datetime

from campaigns.models import Campaign, Instrument, User
from methods.wording.numbers import minute
from readings.models import ClockLag
from readings.services.clock_questions import open_questions
from reports.content.instruments import ReportedClockQuestion


def clock_questions_of(campaign: Campaign) -> tuple[ReportedClockQuestion, ...]:
    """Those left open with a reason, then lags between logs that are put down to something else than a clock."""
    left = [(q.instrument, q.words, q.left) for q in open_questions(campaign) if q.left is not None]
    settled = ClockLag.objects.filter(campaign=campaign, settled_at__isnull=False).select_related(
        "instrument", "settled_by"
    )
    zone = campaign.site.zone_info

    def told(
        instrument: Instrument, question: str, reason: str, by: User | None, at: datetime
    ) -> ReportedClockQuestion:
        name = (by.get_full_name() or str(by)) if by else ""
        return ReportedClockQuestion(instrument.name, instrument.serial, question, reason, name, minute(at, zone))

    return (
        *(told(instrument, words, row.reason, row.by, row.created_at) for instrument, words, row in left),
        *(
            told(lag.instrument, lag.words, lag.reason, lag.settled_by, lag.settled_at)
            for lag in settled.order_by("instrument__name", "day", "pk")
            if lag.settled_at is not None
        ),
    )
