"""What the stays of some deployments say about every criterion: the columns of results. Reads, and writes nothing.

Whatever many results share is read or put into words once (``Known``): a result costs what its own numbers cost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from campaigns.models import Campaign, Deployment
from methods.limits.model import LimitDefinition as LibraryLimit
from methods.quantities.moments import utc_moment
from methods.quantities.units import NotConvertible
from methods.uncertainty.budget import BudgetRow as Part
from methods.verdicts import Judgement, Levels, Verdict, judge
from readings.models import Upload
from readings.queries import placed_in
from reports.models import Result
from reports.services import digests
from reports.services.circumstances import Circumstances, around
from reports.services.exposure_groups import personal_in
from reports.services.measuring import StayMeasured, measure
from reports.services.outdoor import Outdoors, outdoors_of
from reports.services.provenance import Uploads, is_upper, p_not_met, said_of, trace_of
from reports.services.sampling_periods import SamplingPeriod, stays_of
from reports.services.upsert import Row, Upsert

Fields = dict[str, Any]
Place = tuple[int, int]
RESULTS = Upsert(
    Result,
    unique=("criterion", "deployment"),
    changing=(
        "point", "verdict", "value", "u", "p_above", "rank", "p_not_met", "reach", "unit", "reading_count", "coverage",
        "window_start", "window_end", "comparability", "reasons", "budget", "trace", "method", "digest",
    ),
)  # fmt: skip


#: What concerns most comes first: a limit not met, undecided, met; then what cannot be compared.
RANKS = {False: 0, None: 1, True: 2}
NOT_COMPARABLE = 3


@dataclass(frozen=True, slots=True)
class StayJudged:
    """What the stay that begins with one deployment says about one criterion, by their ids.

    ``row`` is the row of a Result, None where the stored one, with the same digest, still stands. ``same_unit``: the
    channel measures in the limit's own unit.
    """

    criterion: int
    deployment: int
    digest: str
    row: Row | None
    same_unit: bool = True

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
    of the stored results; ``stored``: readings of its instruments."""

    campaign: Campaign
    deployments: Sequence[Deployment]
    criteria: dict[str, list[CriterionAsked]]
    uploads: Uploads
    stored: int
    outdoors: Outdoors
    personal: frozenset[int]
    held: dict[Place, str]

    @classmethod
    def of(cls, campaign: Campaign) -> Known:
        deployments = list(campaign.deployments.select_related("point__room__zone__floor__building", "instrument"))
        criteria = _criteria(campaign)
        uploads = Upload.objects.filter(instrument__in={d.instrument_id for d in deployments})
        held = Result.objects.filter(criterion__campaign=campaign, deployment__isnull=False)
        return cls(
            campaign=campaign,
            deployments=deployments,
            criteria=criteria,
            uploads=said_of(files := list(uploads.only("key", "filename", "sha256", "stored"))),
            stored=sum(upload.stored for upload in files),
            outdoors=outdoors_of(campaign, deployments, criteria),
            personal=personal_in(campaign),
            held={(criterion, deployment): digest for criterion, deployment, digest in held.values_list(
                "criterion_id", "deployment_id", "digest"
            )},
        )  # fmt: skip

    @cached_property
    def levels(self) -> Levels:
        return Levels(self.campaign.level_above, self.campaign.level_below)

    @cached_property
    def said_levels(self) -> str:
        return digests.canonical([self.campaign.level_below, self.campaign.level_above])

    def around(self, stay: SamplingPeriod) -> Circumstances:
        personal = all(deployment.pk in self.personal for deployment in stay.deployments)
        return around(self.campaign, stay.deployment, personal=personal, outdoor_at=self.outdoors.at)

    def outdoor_digest(self, stay: SamplingPeriod, around: Circumstances) -> list[str]:
        if around.outdoors:
            return []
        first, last = stay.parts[0].utc_ms[0], stay.parts[-1].utc_ms[-1]
        return self.outdoors.digest(stay.parameter, int(first), int(last))


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
    for stay in stays_of(placed_in(known.campaign, deployments=deployments), deployments):
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
    beside = digests.canonical([around.said(), known.outdoor_digest(stay, around)])
    for one in asked:
        digest = digests.of_result(readings, one.said, known.said_levels, beside)
        place = one.pk, stay.deployment.pk
        row = None if known.held.get(place) == digest else _row(place, digest, _judged(stay, one.limit, around, known))
        yield StayJudged(*place, digest, row, stay.first.unit == one.limit.unit)


def _row(place: Place, digest: str, fields: Fields) -> Row:
    criterion, deployment = place
    return RESULTS.row({"criterion_id": criterion, "deployment_id": deployment, "digest": digest, **fields})


def _judged(stay: SamplingPeriod, limit: LibraryLimit, around: Circumstances, known: Known) -> Fields:
    """The columns of a Result for these readings against this limit."""
    base: Fields = {"point_id": stay.deployment.point_id, "unit": limit.unit, "method": digests.METHOD}
    try:
        found = measure(stay, limit, around)
    except NotConvertible as error:
        return base | _without_value("not-convertible", str(error))
    each = [
        (judge(measured.estimate, limit, known.levels, measured.comparability), measured)
        for measured in found
        if measured.estimate is not None
    ]
    if not each:
        return base | _without_value("no-readings", "No reading of this visit counts: see the flags.")
    judgement, measured = min(each, key=lambda one: concern(one[0]))
    return base | _columns(judgement, measured) | {"trace": trace_of(judgement, measured, around, known.uploads)}


def concern(judgement: Judgement) -> tuple[int, float]:
    """Order of concern: a limit not met, one undecided, one met; among equals the one more likely not met."""
    return RANKS[judgement.is_met], -(p_not_met(judgement) or 0.0)


def _columns(judgement: Judgement, measured: StayMeasured) -> Fields:
    assert measured.estimate is not None
    assert measured.window is not None
    return {
        "verdict": judgement.verdict.value,
        "value": measured.estimate.value,
        "u": measured.estimate.budget.combined,
        "p_above": judgement.p_above,
        "rank": RANKS[judgement.is_met] if measured.comparability.is_comparable else NOT_COMPARABLE,
        "p_not_met": p_not_met(judgement),
        "reach": measured.estimate.value if is_upper(judgement) else -measured.estimate.value,
        "reading_count": measured.window.n,
        "coverage": measured.window.coverage,
        "window_start": utc_moment(measured.window.start_ms),
        "window_end": utc_moment(measured.window.end_ms),
        "comparability": measured.comparability.state.word,
        "reasons": [{"code": r.code, "words": r.words} for r in judgement.reasons],
        "budget": [_part(part) for part in measured.estimate.budget.rows()],
    }


def _without_value(code: str, words: str) -> Fields:
    return {
        "verdict": Verdict.NOT_COMPARABLE.value, "value": None, "u": None, "p_above": None,
        "rank": NOT_COMPARABLE, "p_not_met": None, "reach": 0.0, "reading_count": 0, "coverage": None,
        "window_start": None, "window_end": None, "comparability": "no",
        "reasons": [{"code": code, "words": words}], "budget": [], "trace": {},
    }  # fmt: skip


def _part(row: Part) -> Fields:
    return {"name": row.name, "u": row.u, "share": row.share, "source": row.source, "missing": row.missing}
