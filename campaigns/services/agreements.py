"""Agreeing with a client before a visit: drafted, offered, accepted or declined; each later change a new version.

All hold the campaign, so that nobody accepts what another one is replacing. They raise Http404 for people who may not,
ValidationError with the reason otherwise; then nothing has changed. Who may: consultants write, offer and record;
people of the client that it was offered to answer.
"""

from __future__ import annotations

from datetime import datetime
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError
from django.db.models import Max
from django.http import Http404
from django.utils import timezone

from campaigns import access
from campaigns.frozen.agreement import FORMAT, AgreedContent, digest_of, to_store
from campaigns.models import Agreement, Campaign, Role, User
from campaigns.services.agreed_terms import terms_of
from campaigns.services.locks import hold_campaign
from campaigns.services.records import all_or_nothing, current, save_changed, save_new
from methods.verdicts import Levels
from methods.wording.agreements import error_words
from methods.wording.report import judging

State = Agreement.State

NOT_A_DRAFT = "This version was offered. What was offered is not altered: write a new version."
NO_CLIENT = "The site has no client yet. Name the client first: people of a client accept what was agreed."
NO_LIMITS = "No limit has been chosen yet, so there is no rule to agree on."
NO_POINTS = "No point has been planned yet, so there is no scope to agree on."
OVERTAKEN = "This is not the version that is with you now. Read the newer one, then answer."
ANSWERED = "This version has been answered already."
NOT_OFFERED = "This version is not with the client, so there is nothing to answer."
NO_COMMENT = "Say what should be different."
AHEAD = "An answer was given in the past."
BEFORE_IT = "This version was offered later than that: nobody can have accepted it before."
ALTERED = "The stored agreement is not what was offered. It cannot be answered."
UNTOLD = "Say who accepted, and how."


class AgreementWords(TypedDict, total=False):
    """What a consultant writes of a version."""

    question: str
    decision: str
    undecided: str


class OvertakenVersion(ValidationError):
    """What was answered is not what is with the client now."""


# --- writing and offering ---------------------------------------------------------------------------------------------


def draft(campaign: Campaign, by: User, **words: Unpack[AgreementWords]) -> Agreement:
    """Begin the next version. What is agreed now stays so until the new one is accepted."""
    _may_write(campaign, by)
    with all_or_nothing(Agreement):
        hold_campaign(campaign)
        last = campaign.agreements.aggregate(last=Max("version"))["last"] or 0
        return save_new(Agreement(campaign=campaign, version=last + 1, **words))


def change(agreement: Agreement, by: User, **words: Unpack[AgreementWords]) -> Agreement:
    """Write a draft anew."""
    _may_write(agreement.campaign, by)
    with all_or_nothing(Agreement):
        _draft(agreement)
        return save_changed(agreement, **words)


def discard(agreement: Agreement, by: User) -> None:
    """Throw a draft away. What was offered stays."""
    _may_write(agreement.campaign, by)
    with all_or_nothing(Agreement):
        _draft(agreement).delete()


def offer(agreement: Agreement, by: User, *, at: datetime | None = None) -> Agreement:
    """Freeze a draft with the campaign's terms as they stand, and give it to the client. Another version that is still
    with the client is overtaken by it.

    ``at``: when that was, for what is told of another time; now if None.
    """
    _may_write(agreement.campaign, by)
    with all_or_nothing(Agreement):
        row = _draft(agreement)
        content = to_store(content_of(row))
        for former in row.campaign.agreements.filter(state=State.OFFERED):
            save_changed(former, state=State.OVERTAKEN)
        return save_changed(
            row, state=State.OFFERED, content=content, digest=digest_of(content), offered_at=at or timezone.now(),
            offered_by=by, client=row.campaign.site.client,
        )  # fmt: skip


def content_of(agreement: Agreement) -> AgreedContent:
    """What a draft would freeze now. Raises ValidationError where something is missing to agree on."""
    campaign = agreement.campaign
    if campaign.site.client is None:
        raise ValidationError(NO_CLIENT)
    terms = terms_of(campaign)
    if not terms.limits:
        raise ValidationError(NO_LIMITS)
    if not terms.points:
        raise ValidationError(NO_POINTS)
    return AgreedContent(
        format=FORMAT,
        version=agreement.version,
        organisation=campaign.site.organisation.name,
        client=campaign.site.client.name,
        campaign=campaign.name,
        question=agreement.question,
        decision=agreement.decision,
        undecided=agreement.undecided,
        rule=judging(Levels(terms.above, terms.below)),
        errors=error_words(terms.above, terms.below),
        terms=terms,
    )


def _may_write(campaign: Campaign, by: User) -> None:
    if not access.may_add(by, Agreement, campaign.site.organisation_id):
        raise Http404


def _draft(agreement: Agreement) -> Agreement:
    """The draft as it stands, with its campaign held."""
    hold_campaign(agreement.campaign)
    row = current(agreement)
    if row.state != State.DRAFT:
        raise ValidationError(NOT_A_DRAFT)
    return row


# --- answering --------------------------------------------------------------------------------------------------------


def may_answer(agreement: Agreement, by: User) -> bool:
    """Whether ``by`` is of the client that the agreement is with."""
    client = agreement.client_id
    theirs = any(held.role == Role.CLIENT and held.client_id == client for held in access.memberships(by))
    return by.is_active and client is not None and theirs


def accept(agreement: Agreement, by: User, *, seen: str, at: datetime | None = None) -> Agreement:
    """The client accepts the version whose digest was ``seen``. Raises OvertakenVersion for any other."""
    return _answer(agreement, by, seen, at, state=State.ACCEPTED)


def decline(agreement: Agreement, by: User, *, seen: str, comment: str, at: datetime | None = None) -> Agreement:
    """The client declines and says what should be different."""
    if not comment.strip():
        raise ValidationError({"comment": NO_COMMENT})
    return _answer(agreement, by, seen, at, state=State.DECLINED, comment=comment.strip())


def _answer(agreement: Agreement, by: User, seen: str, at: datetime | None, **answer: str) -> Agreement:
    if not may_answer(agreement, by):
        raise Http404
    with all_or_nothing(Agreement):
        row = _offered(agreement, seen)
        name = by.get_full_name() or by.email
        return save_changed(row, answered_at=at or timezone.now(), answered_by=by, answered_name=name, **answer)


def record_acceptance(
    agreement: Agreement, by: User, *, name: str, at: datetime, how: str, seen: str = ""
) -> Agreement:
    """A consultant records that ``name`` of the client accepted otherwise: ``at`` that time, and ``how``."""
    _may_write(agreement.campaign, by)
    now = timezone.now()
    if not (name.strip() and how.strip()):
        raise ValidationError(UNTOLD)
    if at > now:
        raise ValidationError({"at": AHEAD})
    with all_or_nothing(Agreement):
        row = _offered(agreement, seen or agreement.digest)
        if row.offered_at and at < row.offered_at.replace(second=0, microsecond=0):  # forms ask for minutes
            raise ValidationError({"at": BEFORE_IT})
        return save_changed(
            row, state=State.ACCEPTED, answered_at=at, answered_by=by, answered_name=name.strip(),
            answered_how=how.strip(), recorded_at=now,
        )  # fmt: skip


def _offered(agreement: Agreement, seen: str) -> Agreement:
    """The version as it stands, with its campaign held, where it is with the client and is what was read."""
    hold_campaign(agreement.campaign)
    row = current(agreement)
    if row.state == State.OFFERED and not row.is_whole:
        raise OvertakenVersion(ALTERED)
    if row.state == State.OFFERED and row.digest == seen:
        return row
    if row.state in (State.ACCEPTED, State.DECLINED):
        raise OvertakenVersion(ANSWERED)
    raise OvertakenVersion(NOT_OFFERED if row.state == State.DRAFT else OVERTAKEN)


# --- which one counts -------------------------------------------------------------------------------------------------


def agreed(campaign: Campaign) -> Agreement | None:
    """The version that counts: the latest one that was accepted."""
    return campaign.agreements.filter(state=State.ACCEPTED).order_by("-version").first()


def newest_for_client(campaign: Campaign) -> Agreement | None:
    """What a person of the client has before them: the latest version that was offered."""
    return campaign.agreements.exclude(state=State.DRAFT).order_by("-version").first()
