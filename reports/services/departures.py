"""Whether a campaign was measured and judged as agreed with the client before the visit, and if not, what differs."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.exceptions import ValidationError

from campaigns.models import Agreement, Campaign, User
from campaigns.services.agreed_terms import measuring_began, used_terms
from campaigns.services.agreements import agreed
from campaigns.services.locks import hold_campaign
from campaigns.services.records import all_or_nothing, check
from methods.wording.agreements import TermDifference, differences
from methods.wording.numbers import minute
from reports.models import AgreementDeparture, Result

AS_AGREED = "Everything was measured and judged as agreed."
NONE_AGREED = TermDifference("Agreement", "nothing before measuring began", "measured and judged without")


@dataclass(frozen=True, slots=True)
class AgreementStanding:
    """The version that counts, None without one; what differs from it, the reasons of a person for that, if given."""

    agreement: Agreement | None
    departures: tuple[TermDifference, ...]
    explained: AgreementDeparture | None

    @property
    def open(self) -> bool:
        """Whether a release has to wait for a reason."""
        return bool(self.departures) and self.explained is None


def agreement_standing(campaign: Campaign) -> AgreementStanding:
    """Compared with what was done. A constant number of queries."""
    agreement = agreed(campaign)
    found = _departures(campaign, agreement)
    explained = None
    if found:
        said = AgreementDeparture.objects.filter(campaign=campaign, departures=listed(found))
        explained = said.select_related("by").order_by("-pk").first()
    return AgreementStanding(agreement, found, explained)


def listed(departures: tuple[TermDifference, ...]) -> str:
    """A line for each: what a reason is given for."""
    return "\n".join(departure.words for departure in departures)


def explain(campaign: Campaign, reason: str, by: User) -> AgreementDeparture:
    """Say why the report can be released although it departs from what was agreed; what was said last holds.

    Raises ValidationError where nothing departs from it, or nothing is said.
    """
    with all_or_nothing(AgreementDeparture):
        hold_campaign(campaign)
        standing = agreement_standing(campaign)
        if not standing.departures:
            raise ValidationError(AS_AGREED)
        row = AgreementDeparture(
            campaign=campaign, departures=listed(standing.departures), reason=reason.strip(), by=by
        )
        check(row)
        row.save(force_insert=True)
    return row


def _departures(campaign: Campaign, agreement: Agreement | None) -> tuple[TermDifference, ...]:
    if agreement is None:
        return (NONE_AGREED,)
    if not agreement.is_whole:
        return (TermDifference("The stored agreement", f"digest {agreement.digest}", "another content"),)
    client = campaign.site.client.name if campaign.site.client else "nobody"
    with_whom: tuple[TermDifference, ...] = ()
    if agreement.client_id != campaign.site.client_id:  # by key: two may have one name, and one may be renamed
        now = client if client != agreement.record.client else f"another client named {client}"
        with_whom = (TermDifference("Client", agreement.record.client, now),)
    sampled = Result.objects.filter(criterion__campaign=campaign, deployment__isnull=True).order_by()
    used = used_terms(campaign, sampled.values_list("point", flat=True).distinct())
    return (*_too_late(campaign, agreement), *with_whom, *differences(agreement.record.terms, used))


def _too_late(campaign: Campaign, agreement: Agreement) -> tuple[TermDifference, ...]:
    """An answer counts from when it was given here; one given otherwise, from when it was recorded."""
    began = measuring_began(campaign)
    known = agreement.recorded_at or agreement.answered_at
    if began is None or known is None or known <= began:
        return ()
    zone = campaign.site.zone_info
    item = f"Time of the agreement (version {agreement.version})"
    how = "recorded" if agreement.recorded_at else "accepted"
    return (
        TermDifference(item, "before measuring", f"{how} {minute(known, zone)}, measured from {minute(began, zone)}"),
    )
