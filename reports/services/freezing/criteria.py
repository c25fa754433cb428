"""The limits of a campaign as a report prints them, and what became of the building against each."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date, tzinfo

from campaigns.models import Campaign, Criterion, LimitCheck
from campaigns.services.limit_terms import reference_of
from campaigns.services.limits_library import checks_in
from methods.limits.model import LimitDefinition
from methods.quantities.substances import SUBSTANCES
from methods.wording import limits
from methods.wording.limits import LimitConfirmed
from methods.wording.numbers import day_in_full
from methods.wording.summary import ZoneVerdict, indications, named, needs, order_of_concern, sentence
from reports.content.limits import ReportedCriterion, ReportedLimit, VerdictCount
from reports.content.parts import values_of
from reports.content.places import ReportedZone


def criteria_of(
    campaign: Campaign, criteria: Sequence[Criterion], refs: dict[int, str], zones: Sequence[ReportedZone], on: date
) -> tuple[ReportedCriterion, ...]:
    """``zones``: all of the building, with their findings; ``on``: the day by whose law they are judged."""
    checks = checks_in(campaign.site.organisation_id, [criterion.limit_id for criterion in criteria])
    confirmed = {pk: _confirmed(check, campaign.site.zone_info) for pk, check in checks.items()}
    return tuple(
        _criterion(criterion, refs[criterion.pk], confirmed.get(criterion.limit_id), zones, on)
        for criterion in criteria
    )


def _confirmed(check: LimitCheck, zone_info: tzinfo) -> LimitConfirmed:
    by = str(check.by or "a former colleague")
    return LimitConfirmed(by, day_in_full(check.at.astimezone(zone_info)), check.edition, check.page)


def _criterion(
    criterion: Criterion, ref: str, confirmed: LimitConfirmed | None, zones: Sequence[ReportedZone], on: date
) -> ReportedCriterion:
    limit, found = criterion.limit.as_library(), verdicts(zones, ref)
    return ReportedCriterion(
        **values_of(_limit(limit, confirmed, on), ReportedLimit),
        ref=ref,
        tally=tally(found),
        sentence=sentence(named(limit, on), found),
        needs=needs(found),
    )


def verdicts(zones: Iterable[ReportedZone], ref: str) -> list[ZoneVerdict]:
    """What became of each zone against the criterion of this name."""
    found = ((zone.name, zone.against(ref)) for zone in zones)
    return [
        ZoneVerdict(name, f.verdict, f.word, f.met, indicative=bool(f.result and f.result.indication))
        for name, f in found
    ]


def tally(found: Iterable[ZoneVerdict]) -> tuple[VerdictCount, ...]:
    """How many zones got which verdict, the unmeasured last, and how many of them as an indication."""
    every = list(found)
    counts = Counter((zone.verdict, zone.word) for zone in every)
    unsure = Counter((zone.verdict, zone.word) for zone in every if zone.indicative)
    ranked = sorted(counts.items(), key=lambda item: order_of_concern(*item[0]))
    return tuple(VerdictCount(*told, count, indications(unsure[told], count)) for told, count in ranked)


def _limit(limit: LimitDefinition, confirmed: LimitConfirmed | None, on: date) -> ReportedLimit:
    """``confirmed``: who of the house has compared it with its document."""
    reference = reference_of(limit)
    return ReportedLimit(
        code=limit.code,
        parameter=limit.parameter,
        name=SUBSTANCES[limit.parameter].name,
        symbol=SUBSTANCES[limit.parameter].symbol,
        value=limit.value_text(),
        threshold=limits.threshold(limit),
        unit=limit.unit,
        bound=limit.bound.value,
        statistic=limit.statistic,
        averaging=limit.averaging.value,
        averaging_minutes=limit.averaging_minutes,
        in_words=limits.in_words(limit),
        population=limit.population,
        body=limit.body,
        document=limit.document,
        edition=limit.edition,
        clause=limit.clause,
        citation=limits.document(limit),
        conditions=limits.conditions(limit, reference),
        reference=reference.text if reference else "",
        outdoor=limit.outdoor_rule.value,
        status=limit.status.value,
        in_force=limit.in_force_on(on),
        confidence=limits.confidence(limit, confirmed),
        check=limits.check(confirmed, needs_check=limit.needs_check),
        reason=limit.reason,
        notes=limit.notes,
    )
