"""An agreement is written, offered and answered; what was offered is frozen; who may do what is a rule of services."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import Http404
from django.utils import timezone

from campaigns import history
from campaigns import models as m
from campaigns.frozen.agreement import FORMAT, UPGRADERS, UnreadableAgreement, digest_of, from_store, upgraded
from campaigns.frozen.records import RecordError
from campaigns.models import Agreement
from campaigns.services import agreements
from campaigns.services.agreed_terms import terms_of, used_terms
from campaigns.services.removal import Blocked, remove
from tests import factories as make
from tests.agreeing import BEFORE, WORDS, accepted, offered
from tests.database import unguarded

State = Agreement.State


@pytest.fixture
def campaign(site: m.Site) -> m.Campaign:
    """With a limit and one planned point; nothing measured."""
    found = make.CampaignFactory(site=site, objective="Is it raised?")
    make.CriterionFactory(campaign=found)
    room = make.RoomFactory(zone__floor__building__site=site, zone__name="Attic studio", name="Studio 4")
    m.PlannedPoint.objects.create(campaign=found, point=make.PointFactory(room=room, name="centre"))
    return found


@pytest.fixture
def draft(campaign: m.Campaign, consultant: m.User) -> Agreement:
    return agreements.draft(campaign, consultant, **WORDS)


@pytest.fixture
def offer(draft: Agreement, consultant: m.User) -> Agreement:
    return agreements.offer(draft, consultant, at=BEFORE)


def state(row: Agreement) -> str:
    row.refresh_from_db()
    return row.state


# --- writing and offering ---


def test_a_draft_freezes_nothing(draft: Agreement) -> None:
    assert (draft.version, draft.state, draft.content, draft.digest) == (1, State.DRAFT, None, "")


def test_an_offer_freezes_words_limits_rule_and_scope(offer: Agreement, campaign: m.Campaign) -> None:
    said = offer.record
    assert (said.question, said.decision, said.undecided) == tuple(WORDS.values())
    assert (said.client, said.campaign, said.version) == (str(campaign.site.client), campaign.name, 1)
    assert said.terms == terms_of(campaign)
    assert [(limit.code, limit.value) for limit in said.terms.limits] == [("HCHO-WHO10-30M", "≤ 0.1 mg/m³")]
    assert (said.terms.above, said.terms.below) == (0.95, 0.05)
    assert [point.text for point in said.terms.points] == ["Attic studio: Studio 4, centre"]
    assert (said.terms.first_day, said.terms.last_day) == ("2026-09-14", "2026-09-18")
    assert any("95 %" in sentence for sentence in said.rule)
    assert offer.digest == digest_of(offer.content)


def test_what_was_offered_stays_whatever_becomes_of_the_campaign(offer: Agreement, campaign: m.Campaign) -> None:
    before = offer.digest, offer.content
    campaign.level_above = 0.8
    campaign.objective = "Something else"
    campaign.save()
    campaign.criteria.all().delete()
    campaign.planned_points.all().delete()
    m.Zone.objects.update(name="Renamed")
    offer.refresh_from_db()
    assert (offer.digest, offer.content) == before
    assert offer.is_whole
    assert offer.record.terms != terms_of(campaign)


def test_only_a_draft_is_changed_or_discarded(offer: Agreement, consultant: m.User) -> None:
    for deed in (
        lambda: agreements.change(offer, consultant, question="Another"),
        lambda: agreements.discard(offer, consultant),
        lambda: agreements.offer(offer, consultant),
    ):
        with pytest.raises(ValidationError, match="not altered"):
            deed()
    assert state(offer) == State.OFFERED
    assert offer.question == WORDS["question"]


def test_a_draft_is_changed_and_discarded(draft: Agreement, consultant: m.User) -> None:
    assert agreements.change(draft, consultant, question="Another?").question == "Another?"
    agreements.discard(draft, consultant)
    assert not Agreement.objects.exists()


def test_there_is_one_draft(draft: Agreement, consultant: m.User) -> None:
    with pytest.raises(ValidationError, match="being written already"):
        agreements.draft(draft.campaign, consultant, **WORDS)


@pytest.mark.parametrize("words", [{"question": ""}, {"decision": ""}, {"undecided": ""}])
def test_nothing_is_left_unsaid(campaign: m.Campaign, consultant: m.User, words: dict[str, str]) -> None:
    with pytest.raises(ValidationError):
        agreements.draft(campaign, consultant, **{**WORDS, **words})


@pytest.mark.parametrize(
    ("without", "why"),
    [
        (lambda c: m.Site.objects.filter(pk=c.site_id).update(client=None), "no client yet"),
        (lambda c: c.criteria.all().delete(), "No limit has been chosen"),
        (lambda c: c.planned_points.all().delete(), "No point has been planned"),
    ],
)
def test_an_offer_needs_somebody_and_something_to_agree_on(
    draft: Agreement, consultant: m.User, without: Callable[[m.Campaign], Any], why: str
) -> None:
    without(draft.campaign)
    with pytest.raises(ValidationError, match=why):
        agreements.offer(Agreement.objects.get(pk=draft.pk), consultant)
    assert state(draft) == State.DRAFT


def test_a_later_offer_overtakes_one_that_waits_and_leaves_one_that_was_accepted(campaign: m.Campaign) -> None:
    first, second = accepted(campaign), offered(campaign)
    third = offered(campaign)
    assert [state(row) for row in (first, second, third)] == [State.ACCEPTED, State.OVERTAKEN, State.OFFERED]
    assert agreements.agreed(campaign) == first
    assert agreements.newest_for_client(campaign) == third
    assert (first.version, second.version, third.version) == (1, 2, 3)


# --- answering ---


def test_a_person_of_the_client_accepts(offer: Agreement, client_person: m.User) -> None:
    client_person.first_name, client_person.last_name = "Wren", "Mullion"
    row = agreements.accept(offer, client_person, seen=offer.digest)
    assert (row.state, row.answered_by, row.answered_name) == (State.ACCEPTED, client_person, "Wren Mullion")
    assert row.answered_at is not None
    assert row.recorded_at is None
    assert timezone.now() - row.answered_at < timedelta(minutes=1)
    assert agreements.agreed(offer.campaign) == row
    assert row.digest == offer.digest
    assert row.is_whole


def test_a_person_of_the_client_declines_with_a_comment(offer: Agreement, client_person: m.User) -> None:
    with pytest.raises(ValidationError, match="Say what should be different"):
        agreements.decline(offer, client_person, seen=offer.digest, comment="  ")
    row = agreements.decline(offer, client_person, seen=offer.digest, comment=" The cellar too. ")
    assert (row.state, row.comment) == (State.DECLINED, "The cellar too.")
    assert agreements.agreed(offer.campaign) is None


def test_an_answer_to_what_was_not_read_is_refused(offer: Agreement, client_person: m.User) -> None:
    newer = offered(offer.campaign, question="Another question?")
    for row, seen in ((offer, offer.digest), (newer, offer.digest), (newer, "")):
        with pytest.raises(agreements.OvertakenVersion, match="newer one"):
            agreements.accept(row, client_person, seen=seen)
        with pytest.raises(agreements.OvertakenVersion, match="newer one"):
            agreements.decline(row, client_person, seen=seen, comment="No.")
    assert (state(offer), state(newer)) == (State.OVERTAKEN, State.OFFERED)


def test_what_was_answered_is_not_answered_again(offer: Agreement, client_person: m.User, consultant: m.User) -> None:
    row = agreements.accept(offer, client_person, seen=offer.digest)
    with pytest.raises(agreements.OvertakenVersion, match="answered already"):
        agreements.decline(row, client_person, seen=row.digest, comment="On second thoughts, no.")
    with pytest.raises(agreements.OvertakenVersion, match="answered already"):
        agreements.record_acceptance(row, consultant, name="Somebody else", at=BEFORE, how="by e-mail")
    assert (state(row), row.answered_by) == (State.ACCEPTED, client_person)


def test_a_content_that_was_altered_is_not_accepted(offer: Agreement, client_person: m.User) -> None:
    with unguarded("campaigns_agreement"):
        Agreement.objects.update(content=offer.content | {"question": "Something else?"})
    with pytest.raises(agreements.OvertakenVersion, match="not what was offered"):
        agreements.accept(Agreement.objects.get(), client_person, seen=offer.digest)
    assert not Agreement.objects.get().is_whole


def test_a_consultant_records_an_acceptance_given_otherwise(offer: Agreement, consultant: m.User) -> None:
    row = agreements.record_acceptance(offer, consultant, name=" Sill Mullion ", at=BEFORE, how="signed on paper")
    assert (row.state, row.answered_name, row.answered_how) == (State.ACCEPTED, "Sill Mullion", "signed on paper")
    assert (row.answered_at, row.answered_by) == (BEFORE, consultant)
    assert row.recorded_at is not None


@pytest.mark.parametrize("said", [{"name": " "}, {"how": ""}, {"at": timezone.now() + timedelta(days=1)}])
def test_a_record_says_who_how_and_when(offer: Agreement, consultant: m.User, said: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        agreements.record_acceptance(offer, consultant, **{"name": "S", "how": "by e-mail", "at": BEFORE, **said})
    assert state(offer) == State.OFFERED


# --- who may ---


def test_nobody_but_a_consultant_of_the_house_writes_and_offers(
    draft: Agreement, field_staff: m.User, client_person: m.User, stranger: m.User
) -> None:
    for person in (field_staff, client_person, stranger):
        for deed in (
            lambda by: agreements.draft(draft.campaign, by, **WORDS),
            lambda by: agreements.change(draft, by, question="Mine?"),
            lambda by: agreements.offer(draft, by),
            lambda by: agreements.discard(draft, by),
            lambda by: agreements.record_acceptance(draft, by, name="S", at=BEFORE, how="by e-mail"),
        ):
            with pytest.raises(Http404):
                deed(person)
    assert state(draft) == State.DRAFT


def test_nobody_but_the_client_that_it_was_offered_to_answers(
    offer: Agreement, field_staff: m.User, consultant: m.User, stranger: m.User, organisation: m.Organisation
) -> None:
    other = make.ClientFactory(organisation=organisation)
    of_another = make.UserFactory()
    m.Membership.objects.create(user=of_another, organisation=organisation, role=m.Role.CLIENT, client=other)
    m.Site.objects.update(client=other)  # the house was sold: what was offered was offered to the former owner
    row = Agreement.objects.get(pk=offer.pk)
    for person in (field_staff, consultant, stranger, of_another):
        with pytest.raises(Http404):
            agreements.accept(row, person, seen=row.digest)
        with pytest.raises(Http404):
            agreements.decline(row, person, seen=row.digest, comment="No.")
    assert state(offer) == State.OFFERED


# --- what is kept ---


def test_the_database_keeps_what_is_frozen(offer: Agreement) -> None:
    for change in ({"content": None}, {"digest": ""}, {"state": State.ACCEPTED}, {"state": State.DRAFT}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Agreement.objects.filter(pk=offer.pk).update(**change)


def test_a_campaign_that_was_agreed_on_stays(offer: Agreement) -> None:
    with pytest.raises(Blocked, match="agreement"):
        remove(offer.campaign)


@pytest.mark.history
def test_everything_is_in_the_history(campaign: m.Campaign, consultant: m.User, client_person: m.User) -> None:
    row = agreements.draft(campaign, consultant, **WORDS)
    row = agreements.change(row, consultant, question="Another?")
    row = agreements.offer(row, consultant)
    row = agreements.decline(row, client_person, seen=row.digest, comment="The cellar too.")
    told = [(change.field, change.after) for change in history.of(row)]
    for expected in (
        ("the question", "Another?"), ("state", "with the client"), ("state", "declined"),
        ("comment", "The cellar too."), ("digest", row.digest),
    ):  # fmt: skip
        assert expected in told


def test_what_is_stored_is_read_strictly(offer: Agreement) -> None:
    assert from_store(offer.content) == offer.record
    with pytest.raises(RecordError):
        from_store(offer.content | {"notes": "more"})
    for wrong in ({**offer.content, "format": FORMAT + 1}, {"question": "?"}, None):
        with pytest.raises(UnreadableAgreement):
            from_store(wrong)


def test_an_older_format_goes_through_each_upgrader() -> None:
    """An invented history. Of the real one there is an upgrader from each format."""
    steps = {1: lambda old: {**old, "b": ""}, 2: lambda old: {**old, "c": None}}
    kept = {"format": 1, "a": "said"}
    assert upgraded(kept, upgraders=steps, newest=3) == {"format": 3, "a": "said", "b": "", "c": None}
    assert kept == {"format": 1, "a": "said"}
    assert sorted(UPGRADERS) == list(range(1, FORMAT))


# --- the terms ---


def test_what_was_done_is_told_by_visits(campaign: m.Campaign) -> None:
    room = make.RoomFactory(zone__floor__building__site=campaign.site, zone__name="Cellar", name="Cellar")
    elsewhere = make.PointFactory(room=room, name="floor")
    make.DeploymentFactory(campaign=campaign, point=elsewhere)
    sampled = campaign.planned_points.get().point
    used = used_terms(campaign, [sampled.pk])
    assert {point.text for point in used.points} == {"Cellar: Cellar, floor", "Attic studio: Studio 4, centre"}
    assert (used.first_day, used.last_day) == ("2026-09-15", "2026-09-15")
    assert used.limits == terms_of(campaign).limits


def test_a_shift_is_told_where_a_limit_asks_for_it(campaign: m.Campaign) -> None:
    assert terms_of(campaign).shift == ""
    make.CriterionFactory(campaign=campaign, limit=m.Limit.objects.get(code="HCHO-OSHA-TWA"))
    assert terms_of(campaign).shift == (
        "over 8 h; the part that was not measured is taken to be like the part that was measured"
    )


def test_times_of_use_are_told_of_planned_zones_where_a_limit_asks_for_them(campaign: m.Campaign) -> None:
    zone = m.Zone.objects.get(name="Attic studio")
    other = make.ZoneFactory(floor=zone.floor, name="Not in the plan")
    for place in (zone, other):
        m.UseTimetable.objects.create(zone=place, site=campaign.site, hours="Mon-Fri 08:00-16:00")
    assert terms_of(campaign).use == ()
    limit = m.Limit.objects.exclude(occupied="").filter(organisation__isnull=True).first()
    make.CriterionFactory(campaign=campaign, limit=limit)
    assert terms_of(campaign).use == ("Attic studio: Mon-Fri 08:00-16:00",)


def test_terms_ask_as_many_queries_for_a_larger_plan(campaign: m.Campaign, django_assert_num_queries: Any) -> None:
    def plan_more() -> None:
        for _ in range(3):
            room = make.RoomFactory(zone__floor__building__site=campaign.site)
            m.PlannedPoint.objects.create(campaign=campaign, point=make.PointFactory(room=room))

    for _ in range(2):
        with django_assert_num_queries(3):
            terms_of(campaign)
        plan_more()
