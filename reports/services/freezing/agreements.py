"""What was agreed before the visit, as a report prints it."""

from __future__ import annotations

from zoneinfo import ZoneInfo

from campaigns.models import Agreement, Campaign, User
from methods.verdicts import Levels
from methods.wording.numbers import minute
from reports.content.agreements import ReportedAgreed, ReportedAgreement, ReportedDeparture
from reports.services.departures import agreement_standing


def agreed_of(campaign: Campaign) -> ReportedAgreed:
    """The version that counts with what departs from it, and why."""
    standing, zone = agreement_standing(campaign), campaign.site.zone_info
    whole = standing.agreement if standing.agreement and standing.agreement.is_whole else None
    said = standing.explained
    return ReportedAgreed(
        agreement=_agreement(whole, zone) if whole else None,
        departures=tuple(ReportedDeparture(d.item, d.agreed, d.used) for d in standing.departures),
        reason=said.reason if said else "",
        by=name_of(said.by) if said else "",
        at=minute(said.created_at, zone) if said else "",
    )


def name_of(person: User | None) -> str:
    return (person.get_full_name() or str(person)) if person else ""


def _agreement(row: Agreement, zone: ZoneInfo) -> ReportedAgreement:
    content = row.record
    terms = content.terms
    assert row.offered_at  # both are kept by constraints of the model
    assert row.answered_at
    return ReportedAgreement(
        version=content.version,
        question=content.question,
        decision=content.decision,
        limits=tuple(limit.text for limit in terms.limits),
        rule=content.rule,
        levels=Levels(terms.above, terms.below).words,
        errors=content.errors,
        undecided=content.undecided,
        protocol=terms.protocol,
        parameters=terms.parameters,
        zones=tuple((found.name, found.where, "; ".join(found.places)) for found in terms.zones),
        first_day=terms.first_day,
        last_day=terms.last_day,
        offered=minute(row.offered_at, zone),
        offered_by=name_of(row.offered_by),
        accepted=minute(row.answered_at, zone),
        accepted_by=row.answered_name,
        recorded=_recorded(row, zone),
        digest=row.digest,
        use=terms.use,
        acceptance=tuple(limit.text for limit in terms.acceptance or ()),
    )


def _recorded(row: Agreement, zone: ZoneInfo) -> str:
    if row.recorded_at is None:
        return ""
    return f"{row.answered_how}; recorded by {name_of(row.answered_by)}, {minute(row.recorded_at, zone)}"
