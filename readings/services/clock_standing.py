"""What is known of the clocks of a campaign's instruments, stretch by stretch of their logs: for judging, which asks
whether another time would have been another place.

Derived like everything else, from checks, deployments, stretches of logging and open questions; nothing of it is
stored. A log of which no stretches were noted says nothing, and nothing is doubted for it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import timedelta

import numpy as np

from campaigns.models import Campaign, Deployment
from methods.clock import ClockStanding, StretchStanding, is_pinned
from methods.quantities.arrays import Ints
from methods.quantities.moments import stamp_ms
from readings.models import ClockLag, Upload
from readings.queries.bursts import Laid, Stretch, deployed, laid, runs_of, spans_of
from readings.services.clock_review import clock_questions, reset_questions
from readings.services.lag_days import span_of

#: A stamp may be so far from UTC: any zone, and a wrong day.
AROUND = timedelta(days=3)


@dataclass(frozen=True)
class InstrumentClock:
    """``standing`` of one instrument, and where it ``stood``: (point, start, end) UTC ms of each deployment."""

    standing: ClockStanding
    points: list[int]
    spans: Ints

    def elsewhere(self, point: int) -> Ints:
        """(m, 2): when it stood at other points than this."""
        others: Ints = self.spans[np.array(self.points) != point]
        return others


@dataclass
class _Facts:
    """Of one instrument, log by log."""

    stood: list[Deployment]
    runs: Ints
    logged: list[Ints] = field(default_factory=list)
    stretches: list[StretchStanding] = field(default_factory=list)
    interval_ms: int = 0

    def take(self, laid_log: Laid) -> None:
        asked = any(True for _ in reset_questions(laid_log))
        self.interval_ms = max(self.interval_ms, laid_log.bursts.interval_ms)
        for stretch in laid_log.stretches:
            self.logged.append(stretch.placed)
            self.stretches.append(_standing(stretch, asked=asked))

    def told(self) -> InstrumentClock:
        logged = np.concatenate(self.logged)
        spans = spans_of(self.stood, until=int(logged.max()))
        standing = ClockStanding(logged, tuple(self.stretches), self.interval_ms)
        return InstrumentClock(standing, [deployment.point_id for deployment in self.stood], spans)


def standings(campaign: Campaign, deployments: Collection[Deployment]) -> dict[int, InstrumentClock]:
    """By instrument, of those whose clock is in any doubt. A few queries, and one for each instrument."""
    facts: dict[int, _Facts] = {}
    for upload in _logs(deployments):
        instrument = upload.instrument
        assert instrument is not None
        if instrument.pk not in facts:
            facts[instrument.pk] = _Facts(deployed(instrument, campaign.site), runs_of(instrument, campaign.site))
        if laid_log := laid(upload, facts[instrument.pk].stood, facts[instrument.pk].runs):
            facts[instrument.pk].take(laid_log)
    facts = {pk: of_one for pk, of_one in facts.items() if of_one.logged}
    for lag in ClockLag.objects.filter(campaign=campaign, instrument__in=facts, settled_at__isnull=True):
        facts[lag.instrument_id].stretches.append(StretchStanding(*span_of(lag.day, campaign.site), "open"))
    return {pk: of_one.told() for pk, of_one in facts.items() if any(s.doubt for s in of_one.stretches)}


def _logs(deployments: Collection[Deployment]) -> Iterable[Upload]:
    """Files that may hold readings of these deployments."""
    if not deployments:
        return []
    rows = Upload.objects.filter(
        instrument__in={d.instrument_id for d in deployments}, bursts__isnull=False,
        last_stamp_ms__gte=stamp_ms(min(d.starts_at for d in deployments) - AROUND),
    ).exclude(state=Upload.State.WITHDRAWN)  # fmt: skip
    ends = [d.ends_at for d in deployments if d.ends_at]
    if len(ends) == len(deployments):
        rows = rows.filter(first_stamp_ms__lte=stamp_ms(max(ends) + AROUND))
    rows = rows.select_related("campaign__site", "instrument").order_by("pk")
    return rows.prefetch_related("instrument__clock_checks", "instrument__clock_resets")


def _standing(stretch: Stretch, *, asked: bool) -> StretchStanding:
    """``asked``: whether a person is asked where the clock of this file was set."""
    first, last = int(stretch.placed[:, 0].min()), int(stretch.placed[:, 1].max())
    if stretch.checked:
        return StretchStanding(first, last, "")
    if asked or any(True for _ in clock_questions(stretch)):
        return StretchStanding(first, last, "open")
    pinned = is_pinned(stretch.placed, stretch.spans, lambda: stretch.suggestion)
    return StretchStanding(first, last, "" if pinned else "unchecked")
