"""What the stays of some deployments say about every criterion: the columns of results. Reads, and writes nothing.

Whatever many results share is read or put into words once (``Known``): a result costs what its own numbers cost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property, partial
from math import inf, isfinite
from typing import NamedTuple

from campaigns.models import Campaign, Channel, Deployment
from methods.limits.model import Averaging
from methods.limits.model import LimitDefinition as LibraryLimit
from methods.quantities.durations import DAY_MS
from methods.quantities.moments import utc_moment, utc_ms
from methods.quantities.units import NotConvertible
from methods.uncertainty.budget import expanded
from methods.verdicts import Judgement, Levels, Verdict, judge
from methods.verdicts.comparability import CHECK_ACCEPTED, CHECK_FAILED, TYPE_DATA_ONLY, ComparabilityState, Reason
from readings.models import Upload
from readings.queries import placed_in
from readings.services.clock_standing import InstrumentClock, standings
from reports.models import Result
from reports.models.findings import concern as order_of_concern
from reports.services import digests
from reports.services.circumstances import Circumstances, around
from reports.services.clock_in_doubt import ClockInDoubt, clock_in_doubt, gravest
from reports.services.day_visits import DayVisits, day_visits_of
from reports.services.exposure_groups import personal_in
from reports.services.measuring import StayMeasured, measure, pressure_unsaid
from reports.services.meter_drift import rests_on_type_data
from reports.services.meter_noise import NoiseOfMeters, noise_of_meters, with_noise, zeros_off
from reports.services.outdoor import Outdoors, outdoors_of
from reports.services.provenance import Uploads, is_upper, p_not_met, said_of, trace_of
from reports.services.sampling_periods import SamplingPeriod, stays_of, usable_ms
from reports.services.time_of_use import UsesOfPlaces, uses_of
from reports.services.told_results import ToldResult
from reports.services.upsert import Row, Upsert
from reports.trace import UNTRACED, BudgetPart, ResultTrace
from reports.trace.stored import BUDGET, REASONS, trace_text

Place = tuple[int, int]
RESULTS = Upsert(
    Result,
    unique=("criterion", "deployment"),
    changing=(
        "point", "verdict", "value", "u", "dof", "excess", "p_above", "rank", "p_not_met", "reach", "unit",
        "reading_count", "coverage", "window_start", "window_end", "comparability", "evidence", "reasons", "budget",
        "trace", "method", "digest",
    ),
    texts={"reasons": REASONS.text, "budget": BUDGET.text, "trace": trace_text},
)  # fmt: skip


#: What concerns most comes first: a limit not met, undecided, met; then what cannot be compared.
RANKS = {False: 0, None: 1, True: 2}
NOT_COMPARABLE = 3
UNKNOWN = (NOT_COMPARABLE, 0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class ResultColumns:
    """One row of results, called as its columns are; by itself that of a result without a value."""

    criterion_id: int
    deployment_id: int
    digest: str
    point_id: int
    unit: str
    method: str = digests.METHOD
    verdict: str = Verdict.NOT_COMPARABLE.value
    value: float | None = None
    u: float | None = None
    dof: float | None = None
    excess: float = 0.0
    p_above: float | None = None
    rank: int = NOT_COMPARABLE
    p_not_met: float | None = None
    reach: float = 0.0
    reading_count: int = 0
    coverage: float | None = None
    window_start: datetime | None = None
    window_end: datetime | None = None
    comparability: str = ComparabilityState.NO.word
    evidence: str = ""
    reasons: tuple[Reason, ...] = ()
    budget: tuple[BudgetPart, ...] = ()
    trace: ResultTrace = UNTRACED

    @property
    def expanded(self) -> float | None:
        """U, as of the stored result."""
        return None if self.u is None else expanded(self.u, inf if self.dof is None else self.dof, self.excess)

    @property
    def traced(self) -> ResultTrace:
        return self.trace

    @property
    def budget_parts(self) -> tuple[BudgetPart, ...]:
        return self.budget

    @property
    def stated_reasons(self) -> tuple[Reason, ...]:
        return self.reasons


class StayJudged(NamedTuple):
    """What the stay that begins with one deployment says about one criterion, by their ids.

    ``row`` is the row of a Result, and ``told`` what it says for its room and zone; None where the stored one, with the
    same digest, still stands. ``same_unit``: the channel measures in the limit's own unit. ``concern``: see there; told
    where one of several probes is to be chosen. ``valid``: by deployment and parameter how long the readings that count
    stand for, ms; told with one of the results of a stay.
    """

    criterion: int
    deployment: int
    digest: str
    row: Row | None
    told: ToldResult | None
    same_unit: bool = True
    concern: tuple[int, float, float] = UNKNOWN
    valid: tuple[tuple[int, str, int], ...] = ()

    @property
    def place(self) -> Place:
        return self.criterion, self.deployment


@dataclass(frozen=True, slots=True)
class CriterionAsked:
    """A criterion: its id, its limit, and that limit in words for the digest."""

    pk: int
    limit: LibraryLimit
    said: str


@dataclass(frozen=True)
class Known:
    """What is read once for all results of a campaign. ``personal``: deployments worn by a person; ``held``: digests
    of the stored results; ``stored``: readings of its instruments; ``probed``: instruments with several probes of one
    parameter, whose results are compared with each other; ``clocks``: of instruments whose clock is in doubt;
    ``meters``: the noise of channels that quality runs tell."""

    campaign: Campaign
    deployments: Sequence[Deployment]
    criteria: dict[str, list[CriterionAsked]]
    uploads: Uploads
    stored: int
    outdoors: Outdoors
    days: DayVisits
    uses: UsesOfPlaces
    personal: frozenset[int]
    held: dict[Place, str]
    probed: frozenset[int] = frozenset()
    clocks: Mapping[int, InstrumentClock] = field(default_factory=dict)
    meters: NoiseOfMeters = field(default_factory=dict)

    @classmethod
    def of(cls, campaign: Campaign) -> Known:
        deployments = list(campaign.deployments.select_related("point__room__zone__floor__building", "instrument"))
        criteria = _criteria(campaign)
        uploads = Upload.objects.filter(instrument__in={d.instrument_id for d in deployments})
        uploads = uploads.exclude(state=Upload.State.WITHDRAWN)
        held = Result.objects.filter(criterion__campaign=campaign, deployment__isnull=False)
        limits = [asked.limit for each in criteria.values() for asked in each]
        meters = noise_of_meters(campaign)
        return cls(
            campaign=campaign,
            deployments=deployments,
            criteria=criteria,
            uploads=said_of(files := list(uploads.only("key", "filename", "sha256", "stored"))),
            stored=sum(upload.stored for upload in files),
            outdoors=outdoors_of(campaign, deployments, criteria, meters),
            days=day_visits_of(campaign, deployments, limits, meters),
            uses=uses_of(campaign, limits),
            personal=personal_in(campaign),
            held={(criterion, deployment): digest for criterion, deployment, digest in held.values_list(
                "criterion_id", "deployment_id", "digest"
            )},
            probed=frozenset(Channel.objects.filter(
                instrument__in={d.instrument_id for d in deployments}, spec__probe__gt=""
            ).values_list("instrument", flat=True)),
            clocks=standings(campaign, deployments),
            meters=meters,
        )  # fmt: skip

    @property
    def limits(self) -> list[LibraryLimit]:
        return [asked.limit for each in self.criteria.values() for asked in each]

    @cached_property
    def levels(self) -> Levels:
        return Levels(self.campaign.level_above, self.campaign.level_below)

    @cached_property
    def said_levels(self) -> str:
        return digests.canonical([self.campaign.level_below, self.campaign.level_above])

    def around(self, stay: SamplingPeriod) -> Circumstances:
        personal = all(deployment.pk in self.personal for deployment in stay.deployments)
        return around(
            self.campaign,
            stay.deployment,
            personal=personal,
            type_data_only=any(rests_on_type_data(part, *self.checked_ms) for part in stay.parts),
            zero_off=zeros_off(self.meters, stay.parts),
            outdoor_at=self.outdoors.at,
            use=self.uses.of(stay.deployment.point),
            clock=clock_in_doubt(stay, self.clocks),
            clock_beside=self._clock_beside(stay),
        )

    @cached_property
    def checked_ms(self) -> tuple[int, int]:
        """From when to when a check belongs to the campaign: from a day before its first visit to a day after."""
        first = min(deployment.starts_at for deployment in self.deployments)
        last = max(deployment.ends_at or deployment.starts_at for deployment in self.deployments)
        return utc_ms(first) - DAY_MS, utc_ms(last) + DAY_MS

    def _clock_beside(self, stay: SamplingPeriod) -> ClockInDoubt | None:
        """The gravest doubt about what the stay may be set beside: visits outdoors, and at its point on its days."""
        if not self.clocks:
            return None
        first, last = int(stay.parts[0].utc_ms[0]), int(stay.parts[-1].utc_ms[-1])
        beside = [*self.outdoors.near(stay.parameter, first, last), *self.days.mates(stay)]
        return gravest(clock_in_doubt(other, self.clocks) for other in beside)

    def outdoor_digest(self, stay: SamplingPeriod, around: Circumstances) -> list[str]:
        if around.outdoors:
            return []
        first, last = stay.parts[0].utc_ms[0], stay.parts[-1].utc_ms[-1]
        return self.outdoors.digest(stay.parameter, int(first), int(last))

    def day_digest(self, stay: SamplingPeriod, limit: LibraryLimit) -> str:
        """Of the other visits of its days, where the limit asks for them; "" where it does not."""
        if limit.averaging is not Averaging.DAY_READINGS:
            return ""
        return f", {digests.canonical(self.days.digest(stay))}"


def use_digest(around: Circumstances, limit: LibraryLimit) -> str:
    """Of the time of use, where the limit is about it; "" where it is not."""
    if limit.occupied is None:
        return ""
    return f", {digests.canonical(around.use.said() if around.use else None)}"


def _criteria(campaign: Campaign) -> dict[str, list[CriterionAsked]]:
    """By parameter."""
    criteria: dict[str, list[CriterionAsked]] = defaultdict(list)
    for criterion in campaign.criteria.select_related("limit"):
        limit = criterion.limit.as_library()
        criteria[limit.parameter].append(CriterionAsked(criterion.pk, limit, digests.canonical(digests.said_of(limit))))
    return dict(criteria)


def judged(known: Known, deployments: Collection[Deployment]) -> Iterator[StayJudged]:
    """Every one of ``deployments`` with readings against every criterion for what it measured."""
    channels: dict[int, str] = {}
    placed = with_noise(placed_in(known.campaign, deployments=deployments), known.meters)
    for stay in stays_of(placed, deployments):
        asked = known.criteria.get(stay.parameter)
        if asked:
            yield from _of_stay(stay, asked, known, channels)


def _of_stay(
    stay: SamplingPeriod, asked: Sequence[CriterionAsked], known: Known, channels: dict[int, str]
) -> Iterator[StayJudged]:
    """``channels``: what was said of each channel for the digest, kept from stay to stay."""
    for part in stay.parts:
        if part.channel.pk not in channels:
            channels[part.channel.pk] = digests.of_channel(part.channel)
    readings = digests.canonical([digests.of_readings(part, channels[part.channel.pk]) for part in stay.parts])
    around = known.around(stay)
    beside = digests.canonical([around.said(), known.outdoor_digest(stay, around), *pressure_unsaid(stay, around)])
    valid = _valid(stay)
    for criterion_asked in asked:
        others = known.day_digest(stay, criterion_asked.limit) + use_digest(around, criterion_asked.limit)
        digest = digests.of_result(readings, criterion_asked.said, known.said_levels, beside + others)
        place = criterion_asked.pk, stay.deployment.pk
        same_unit = stay.first.unit == criterion_asked.limit.unit
        is_probed = stay.deployment.instrument_id in known.probed
        if known.held.get(place) == digest and not is_probed:
            yield StayJudged(*place, digest, None, None, same_unit, valid=valid)
            continue
        columns = _judged(stay, criterion_asked, digest, around, known)
        order = order_of_concern(columns.rank, columns.p_not_met, columns.reach) if is_probed else UNKNOWN
        yield StayJudged(*place, digest, RESULTS.row(columns), ToldResult.of(columns), same_unit, order, valid)


def _valid(stay: SamplingPeriod) -> tuple[tuple[int, str, int], ...]:
    return tuple((part.deployment.pk, stay.parameter, usable_ms(part)) for part in stay.parts)


def _judged(
    stay: SamplingPeriod, asked: CriterionAsked, digest: str, around: Circumstances, known: Known
) -> ResultColumns:
    """These readings against this limit."""
    columns = partial(
        ResultColumns,
        criterion_id=asked.pk,
        deployment_id=stay.deployment.pk,
        digest=digest,
        point_id=stay.deployment.point_id,
        unit=asked.limit.unit,
    )
    try:
        measured_at = measure(stay, asked.limit, around, known.days)
    except NotConvertible as error:
        return columns(reasons=(Reason("not-convertible", str(error)),))
    each = [
        (judge(measured.estimate, asked.limit, known.levels, measured.comparability), measured)
        for measured in measured_at
        if measured.estimate is not None
    ]
    if not each:
        return columns(reasons=(Reason("no-readings", "No reading of this visit counts: see the flags."),))
    judgement, measured = min(each, key=lambda judged: concern(judged[0]))
    return _with_value(columns, judgement, measured, trace_of(judgement, measured, around, known.uploads))


def _evidence(reasons: Sequence[Reason]) -> str:
    """What is said of the meter behind the result, the gravest of it."""
    codes = {reason.code for reason in reasons}
    return next((code for code in (CHECK_FAILED, TYPE_DATA_ONLY, CHECK_ACCEPTED) if code in codes), "")


def concern(judgement: Judgement) -> tuple[int, float]:
    """Order of concern: a limit not met, one undecided, one met; among equals the one more likely not met."""
    return RANKS[judgement.is_met], -(p_not_met(judgement) or 0.0)


def _with_value(
    columns: Callable[..., ResultColumns], judgement: Judgement, measured: StayMeasured, trace: ResultTrace
) -> ResultColumns:
    assert measured.estimate is not None
    assert measured.window is not None
    return columns(
        verdict=judgement.verdict.value,
        value=measured.estimate.value,
        u=measured.estimate.budget.combined,
        excess=measured.estimate.excess,
        dof=dof if isfinite(dof := measured.estimate.budget.effective_dof) else None,
        p_above=judgement.p_above,
        rank=RANKS[judgement.is_met] if measured.comparability.is_comparable else NOT_COMPARABLE,
        p_not_met=p_not_met(judgement),
        reach=measured.estimate.value if is_upper(judgement) else -measured.estimate.value,
        reading_count=measured.window.n,
        coverage=measured.window.coverage,
        window_start=utc_moment(measured.window.start_ms),
        window_end=utc_moment(measured.window.end_ms),
        comparability=measured.comparability.state.word,
        evidence=_evidence(judgement.reasons),
        reasons=judgement.reasons,
        budget=tuple(
            BudgetPart(part.name, part.u, part.share, part.source, part.missing)
            for part in measured.estimate.budget.rows()
        ),
        trace=trace,
    )
