"""Laying the logs of a campaign's instruments on each other, day by day, where their readings should rise together.

Method: docs/methods/clock.md. What comes of it is kept as ``ClockLag``, a question to a person; nothing is moved.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from django.db import transaction
from django.db.models import Count, F, Q, QuerySet

from campaigns.enqueue import Outcome, enqueue
from campaigns.models import Campaign, Deployment, Instrument, Job, SamplingPoint
from campaigns.signals import inputs_changed
from methods.clock import CommonLog, LagProposal, lag_proposals
from methods.quantities.arrays import Floats, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.substances import SUBSTANCES, Kind
from readings.job_kinds import COMPARE_CLOCKS
from readings.models import ClockLag
from readings.queries import Placed, placed_in
from readings.services.lag_days import days_between, span_of

#: A visit that lasts so long is a continuous log; shorter ones are laid on their deployments instead.
LONG = timedelta(hours=6)
#: What rises with people, windows and doors. The sun and the weather come to each room at an hour of its own.
RISING = (Kind.GAS, Kind.SUM, Kind.PARTICLES)
#: A lag that is within this of the one a person spoke about is the same.
SAME_MIN = 15
#: So many of the others are named.
NAMED = 4


@dataclass(frozen=True)
class Asked:
    """One question: which instrument lags on which day of the site (None: on all), by how much, against whom."""

    instrument: int
    day: date | None
    parameter: str
    lag_min: int
    against: str
    confidence: float
    either: bool


def long_visits() -> QuerySet[Deployment]:
    """Of all campaigns: those indoors that log on and on."""
    is_long = Q(ends_at__isnull=True) | Q(ends_at__gte=F("starts_at") + LONG)
    return Deployment.objects.filter(is_long).exclude(point__kind=SamplingPoint.Kind.OUTDOOR)


def compare_again(campaign_ids: Iterable[int]) -> None:
    """Queue another look at campaigns of which several instruments log on and on, or did so when last looked at."""
    changed = set(campaign_ids)
    several = long_visits().filter(campaign__in=changed).order_by().values("campaign")
    several = several.annotate(instruments=Count("instrument", distinct=True)).filter(instruments__gte=2)
    asked = ClockLag.objects.filter(campaign__in=changed).order_by().values("campaign")
    wanted = Campaign.objects.filter(Q(pk__in=several.values("campaign")) | Q(pk__in=asked))
    for campaign in wanted.select_related("site").order_by("pk"):
        enqueue(COMPARE_CLOCKS, campaign.pk, organisation_id=campaign.site.organisation_id, owner=None)


def compare_clocks(job: Job) -> Outcome:
    """The job "compare-clocks"."""
    campaign = Campaign.objects.select_related("site").get(pk=job.subject_id)
    asked = best_of(proposed(campaign, job))
    with transaction.atomic():
        job.beat()
        if kept(campaign, asked):
            inputs_changed.send(ClockLag, campaign_ids=[campaign.pk])
    count = ClockLag.objects.filter(campaign=campaign, settled_at__isnull=True).count()
    if not count:
        return Job.State.DONE, "logs-agree", "Where logs rise together they do so at the same time."
    return Job.State.DONE, "logs-lag", f"{count} {'lag' if count == 1 else 'lags'} between logs to decide about."


def proposed(campaign: Campaign, job: Job | None = None) -> Iterator[Asked]:
    """What the logs say of each other, parameter by parameter."""
    visits = list(long_visits().filter(campaign=campaign).select_related("point", "instrument"))
    instruments = {visit.instrument_id: visit.instrument for visit in visits}
    for parameter in _shared(instruments):
        series: dict[int, list[Placed]] = defaultdict(list)
        for placed in placed_in(campaign, parameter=parameter, deployments=visits):
            if len(placed):
                series[placed.deployment.instrument_id].append(placed)
            if job and job.is_due:
                job.beat()
        logs = {pk: _one(parts) for pk, parts in series.items()}
        if len(logs) > 1:
            yield from _asked(campaign, parameter, logs, instruments)


def _shared(instruments: Collection[int]) -> list[str]:
    """Parameters that rise, and that at least two of the instruments measure."""
    rows = Instrument.objects.filter(pk__in=instruments).order_by()
    counts = rows.values("channels__spec__parameter").annotate(n=Count("pk", distinct=True)).filter(n__gte=2)
    codes = sorted(code for code in counts.values_list("channels__spec__parameter", flat=True) if code in SUBSTANCES)
    return [code for code in codes if SUBSTANCES[code].kind in RISING]


def _one(parts: list[Placed]) -> tuple[Ints, Floats]:
    """(UTC ms, values) of one instrument in order of time, as means of whole minutes: finer ones tell no more."""
    utc = np.concatenate([part.utc_ms for part in parts])
    values = np.concatenate([part.value for part in parts])
    known = np.isfinite(values)
    minutes, at = np.unique(utc[known] // MINUTE_MS, return_inverse=True)
    means: Floats = np.bincount(at, values[known]) / np.maximum(np.bincount(at), 1)
    return minutes * MINUTE_MS, means


def _asked(
    campaign: Campaign, parameter: str, logs: dict[int, tuple[Ints, Floats]], instruments: dict[int, Instrument]
) -> Iterator[Asked]:
    order = sorted(pk for pk, (utc, _) in logs.items() if len(utc))
    if len(order) < 2:
        return
    first, last = min(int(logs[pk][0][0]) for pk in order), max(int(logs[pk][0][-1]) for pk in order)
    days = days_between(first, last, campaign.site)
    edges = [span_of(day, campaign.site)[0] for day in days] + [span_of(days[-1], campaign.site)[1]]
    for proposal in lag_proposals([CommonLog(*logs[pk]) for pk in order], edges):
        day = None if proposal.day is None else days[proposal.day]
        for one, lag_ms, others in _sides(proposal):
            yield Asked(
                order[one], day, parameter, round(lag_ms / MINUTE_MS),
                _named([str(instruments[order[other]]) for other in others]), proposal.confidence, proposal.either,
            )  # fmt: skip


def _sides(proposal: LagProposal) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Where either may be off, each is asked about."""
    yield proposal.log, proposal.lag_ms, proposal.against
    if proposal.either:
        for other in proposal.against:
            yield other, -proposal.lag_ms, (proposal.log,)


def _named(names: list[str]) -> str:
    if len(names) > NAMED:
        return f"{', '.join(names[:NAMED])} and {len(names) - NAMED} more"
    return " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))


def best_of(asked: Iterable[Asked]) -> dict[tuple[int, date | None], Asked]:
    """One question for each instrument and day: by the parameter that says it most clearly."""
    best: dict[tuple[int, date | None], Asked] = {}
    for one in asked:
        held = best.setdefault((one.instrument, one.day), one)
        if one.confidence > held.confidence:
            best[one.instrument, one.day] = one
    return best


def kept(campaign: Campaign, asked: dict[tuple[int, date | None], Asked]) -> bool:
    """Keep what is asked now; what a person has spoken about stays as long as it is the same. Whether anything that
    is open has changed. Inside a transaction."""
    changed = False
    rows = ClockLag.objects.select_for_update().filter(campaign=campaign)
    held = {(row.instrument_id, row.day): row for row in rows}
    for place, row in held.items():
        if place not in asked:
            changed |= row.settled_at is None
            row.delete()
    for place, one in asked.items():
        row = held.get(place) or ClockLag(campaign=campaign, instrument_id=one.instrument, day=one.day)
        if row.settled_at and abs(row.lag_min - one.lag_min) <= SAME_MIN:
            continue
        said = (one.parameter, one.lag_min, one.against[:400], one.confidence, one.either)
        if row.pk and not row.settled_at and said == (
            row.parameter, row.lag_min, row.against, row.confidence, row.either
        ):  # fmt: skip
            continue
        row.parameter, row.lag_min, row.against, row.confidence, row.either = said
        changed |= not row.pk or row.settled_at is not None
        row.reason, row.settled_at, row.settled_by = "", None, None
        row.save()
    return changed
