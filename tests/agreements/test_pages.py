"""The pages of agreeing: what a client sees before a visit and nothing else, and what each answer does."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Agreement
from campaigns.services import agreements
from methods.verdicts import VERDICT_GLYPHS
from methods.wording.agreements import UNDECIDED_STARTS
from tests import factories as make
from tests.agreeing import BEFORE, WORDS, offered, unagreed
from tests.database import unguarded
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
NOT_IN_SCOPE = ("Cellar", "Boiler cupboard")
State = Agreement.State


def build(world: World) -> House:
    """Measured and judged, nothing released; a zone of the house and a point are not in the plan."""
    found = house(world.site)
    found.campaign.planned_points.filter(point__room__zone=found.empty).delete()
    make.PointFactory(room__zone=found.low, room__name="Boiler cupboard", name="by the pipe")
    return found


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def offer(measured: House) -> Agreement:
    return offered(measured.campaign)


@pytest.fixture
def at_client(client_person: m.User, browse: Browse) -> Client:
    return browse(client_person)


def page_of(row: Agreement) -> str:
    return reverse("client-agreement", args=[row.key])


def answer(browser: Client, row: Agreement, way: str, **sent: Any) -> Any:
    return browser.post(reverse(f"client-agreement-{way}", args=[row.key]), sent)


def state(row: Agreement) -> str:
    row.refresh_from_db()
    return row.state


# --- the client's page ---


def test_the_client_reads_everything_that_is_agreed(offer: Agreement, at_client: Client) -> None:
    start = at_client.get("/", follow=True)
    assert page_of(offer) in start.content.decode()
    assert "waiting for your answer" in text_of(start)
    shown = text_of(at_client.get(page_of(offer)))
    for words in (
        *WORDS.values(), "Formaldehyde ≤ 0.1 mg/m³", "worst 30-minute mean", "WHO (Europe) 2010", "95 %",
        "at most 5 % of results", "Harbour House", "2026-09-14 to 2026-09-18", "Attic studio", "Library room, centre",
        offer.digest, "no statement of safety",
    ):  # fmt: skip
        assert words in shown, words


def test_nothing_unreleased_is_on_it(offer: Agreement, measured: House, at_client: Client) -> None:
    """No reading, value, finding or verdict, no instrument, no upload, no zone or room outside the scope, and no link
    but to the client's own pages."""
    answered = at_client.get(page_of(offer))
    shown = text_of(answered)
    for word in (
        "meter A",
        "TST-0001",
        "attic and library.csv",
        "0.25",
        "0.02 ",
        "0.307",
        "Judged",
        "±",
        *NOT_IN_SCOPE,
    ):
        assert word not in shown, word
    assert not [glyph for glyph in VERDICT_GLYPHS.values() if glyph in shown]
    for result in measured.campaign.deployments.values_list("results__key", flat=True):
        assert str(result) not in answered.content.decode()
    links = set(re.findall(r'(?:href|action)="(/[^"]*)"', answered.content.decode()))
    own = {
        "/", "/findings/", "/logout/", "/password/", page_of(offer), f"{page_of(offer)}accept/",
        f"{page_of(offer)}decline/",
    }  # fmt: skip
    assert {link for link in links if not link.startswith("/static/")} <= own
    assert str(measured.campaign.key) not in answered.content.decode()


def test_the_same_before_anything_was_measured_and_after(offer: Agreement, measured: House, at_client: Client) -> None:
    """What the page says rests on nothing but what was frozen, apart from the warning that it comes late."""

    def shown() -> str:
        tokens = r"[A-Za-z0-9]{64}"  # of the session; the digest, as long, is looked at elsewhere
        said = re.sub(tokens, "", at_client.get(page_of(offer)).content.decode())
        return re.sub(r'<p class="messages"><span class="flag-word">Late</span>.*?</p>', "", said)

    before = shown()
    m.Deployment.objects.all().delete()
    measured.campaign.criteria.all().delete()
    m.Zone.objects.filter(pk=measured.high.pk).update(name="Renamed")
    assert shown() == before


def test_a_draft_is_nothing_to_a_client(offer: Agreement, consultant: m.User, at_client: Client) -> None:
    draft = agreements.draft(offer.campaign, consultant, **{**WORDS, "question": "Not yet said?"})
    assert at_client.get(page_of(draft)).status_code == 404
    assert "Not yet said?" not in text_of(at_client.get("/findings/"))
    assert "Version 2" not in text_of(at_client.get(page_of(offer)))


def test_people_of_another_client_find_nothing(offer: Agreement, organisation: m.Organisation, browse: Browse) -> None:
    other = make.UserFactory()
    client = make.ClientFactory(organisation=organisation)
    m.Membership.objects.create(user=other, organisation=organisation, role=m.Role.CLIENT, client=client)
    browser = browse(other)
    assert browser.get(page_of(offer)).status_code == 404
    assert answer(browser, offer, "accept", seen=offer.digest, confirm="on").status_code == 404
    assert answer(browser, offer, "decline", seen=offer.digest, comment="No.").status_code == 404
    assert page_of(offer) not in browser.get("/findings/").content.decode()
    assert state(offer) == State.OFFERED


def test_those_who_work_here_see_it_without_an_answer(
    offer: Agreement, consultant: m.User, field_staff: m.User, browse: Browse
) -> None:
    for person in (consultant, field_staff):
        shown = browse(person).get(page_of(offer))
        assert WORDS["question"] in text_of(shown)
        assert "accept/" not in shown.content.decode()
        assert answer(browse(person), offer, "accept", seen=offer.digest, confirm="on").status_code == 404
    assert state(offer) == State.OFFERED


# --- the answer ---


def test_accepting_takes_a_tick(offer: Agreement, at_client: Client, client_person: m.User) -> None:
    refused = answer(at_client, offer, "accept", seen=offer.digest)
    assert refused.status_code == 422
    assert "Nothing is accepted without this." in text_of(refused)
    assert state(offer) == State.OFFERED
    assert answer(at_client, offer, "accept", seen=offer.digest, confirm="on").status_code == 302
    assert (state(offer), offer.answered_by) == (State.ACCEPTED, client_person)
    shown = at_client.get(page_of(offer))
    assert f"accepted by {client_person.email}" in text_of(shown)
    assert "accept/" not in shown.content.decode()


def test_declining_takes_a_comment_that_the_consultant_reads(
    offer: Agreement, at_client: Client, consultant: m.User, browse: Browse
) -> None:
    assert answer(at_client, offer, "decline", seen=offer.digest, comment=" ").status_code == 422
    assert state(offer) == State.OFFERED
    assert answer(at_client, offer, "decline", seen=offer.digest, comment="The <cellar> too.").status_code == 302
    assert (state(offer), offer.comment) == (State.DECLINED, "The <cellar> too.")
    assert "The <cellar> too." in text_of(browse(consultant).get(reverse("agreement", args=[offer.campaign.key])))


@pytest.mark.parametrize(("way", "sent"), [("accept", {"confirm": "on"}), ("decline", {"comment": "No."})])
def test_a_stale_form_shows_the_newer_version(
    offer: Agreement, at_client: Client, way: str, sent: dict[str, str]
) -> None:
    newer = offered(offer.campaign, question="And in the cellar?")
    refused = answer(at_client, offer, way, seen=offer.digest, **sent)
    assert refused.status_code == 409
    shown = text_of(refused)
    assert "Read the newer one" in shown
    assert "And in the cellar?" in shown
    assert newer.digest in shown
    assert (state(offer), state(newer)) == (State.OVERTAKEN, State.OFFERED)
    old = at_client.get(page_of(offer))
    assert page_of(newer) in old.content.decode()
    assert "accept/" not in old.content.decode()


def test_an_altered_content_is_said_and_cannot_be_accepted(offer: Agreement, at_client: Client) -> None:
    with unguarded("campaigns_agreement"):
        Agreement.objects.update(content=offer.content | {"question": "Something else?"})
    shown = at_client.get(page_of(offer))
    assert "not what was offered" in text_of(shown)
    assert "accept/" not in shown.content.decode()
    assert answer(at_client, offer, "accept", seen=offer.digest, confirm="on").status_code == 409
    assert state(offer) == State.OFFERED


# --- the consultant's pages ---


def test_a_version_is_written_offered_and_recorded(measured: House, consultant: m.User, browse: Browse) -> None:
    page, key = browse(consultant), measured.campaign.key
    assert measured.campaign.objective in page.get(reverse("agreement-add", args=[key])).content.decode()
    words = {"question": "Q?", "decision": "D.", "starts": [UNDECIDED_STARTS[0]], "undecided": "Then we talk."}
    assert page.post(reverse("agreement-add", args=[key]), words).status_code == 302
    row = Agreement.objects.get()
    assert row.undecided == f"{UNDECIDED_STARTS[0]}\nThen we talk."
    page.post(reverse("agreement-edit", args=[row.key]), words | {"starts": [], "undecided": "Nothing."})
    assert "Nothing." in text_of(page.get(reverse("agreement", args=[key])))
    page.post(reverse("agreement-offer", args=[row.key]))
    assert state(row) == State.OFFERED
    with unguarded("campaigns_agreement"):
        Agreement.objects.filter(pk=row.pk).update(offered_at=datetime(2026, 8, 31, 12, tzinfo=UTC))
    sent = {"seen": row.digest, "name": "S. Mullion", "at": "2026-09-01T10:00", "how": "on paper"}
    assert page.post(reverse("agreement-record", args=[row.key]), sent).status_code == 302
    shown = text_of(page.get(reverse("agreement", args=[key])))
    assert "accepted by S. Mullion, 2026-09-01 10:00 (on paper; recorded by" in shown
    assert page.get(reverse("agreement-edit", args=[row.key])).status_code == 404
    assert page.get(reverse("agreement-delete", args=[row.key])).status_code == 404


def test_what_follows_from_undecided_must_be_said(measured: House, consultant: m.User, browse: Browse) -> None:
    sent = {"question": "Q?", "decision": "D.", "undecided": " "}
    refused = browse(consultant).post(reverse("agreement-add", args=[measured.campaign.key]), sent)
    assert refused.status_code == 422
    assert "Say what follows where nothing can be decided." in text_of(refused)


def test_the_next_version_begins_with_the_words_of_the_last(
    offer: Agreement, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant)
    shown = page.get(reverse("agreement-add", args=[offer.campaign.key])).content.decode()
    assert all(words in shown for words in WORDS.values())
    draft = agreements.draft(offer.campaign, consultant, **WORDS)
    again = page.get(reverse("agreement-add", args=[offer.campaign.key]))
    assert again.headers["Location"] == reverse("agreement-edit", args=[draft.key])
    page.post(reverse("agreement-delete", args=[draft.key]))
    assert list(Agreement.objects.all()) == [offer]


def test_a_refused_offer_says_why(measured: House, consultant: m.User, browse: Browse) -> None:
    draft = agreements.draft(measured.campaign, consultant, **WORDS)
    measured.campaign.criteria.all().delete()
    page = browse(consultant)
    assert "No limit has been chosen" in text_of(page.get(reverse("agreement", args=[measured.campaign.key])))
    shown = page.post(reverse("agreement-offer", args=[draft.key]), follow=True)
    assert "No limit has been chosen" in text_of(shown)
    assert state(draft) == State.DRAFT


def test_a_record_of_the_future_is_refused(offer: Agreement, consultant: m.User, browse: Browse) -> None:
    sent = {"seen": offer.digest, "name": "S. Mullion", "at": "2126-09-01T10:00", "how": "on paper"}
    refused = browse(consultant).post(reverse("agreement-record", args=[offer.key]), sent)
    assert refused.status_code == 422
    assert agreements.AHEAD in text_of(refused)


def test_field_staff_read_it_and_write_nothing(offer: Agreement, field_staff: m.User, browse: Browse) -> None:
    page = browse(field_staff)
    shown = page.get(reverse("agreement", args=[offer.campaign.key]))
    assert shown.status_code == 200
    for route in ("agreement-add", "agreement-record", "agreement-offer"):
        key = offer.campaign.key if route == "agreement-add" else offer.key
        assert reverse(route, args=[key]) not in shown.content.decode()
        assert page.post(reverse(route, args=[key]), {}).status_code == 404


# --- the campaign's page ---


def test_the_campaign_says_what_is_agreed(measured: House, consultant: m.User, browse: Browse) -> None:
    page, url = browse(consultant), reverse("campaign", args=[measured.campaign.key])
    assert "Nothing yet" in text_of(page.get(url))
    row = offered(measured.campaign)
    assert "version 1 is with the client" in text_of(page.get(url))
    agreements.record_acceptance(row, consultant, name="S. Mullion", at=BEFORE, how="on paper")
    shown = page.get(url)
    assert "Version 1, accepted by S. Mullion" in text_of(shown)
    assert reverse("agreement", args=[measured.campaign.key]) in shown.content.decode()


def test_measuring_without_an_agreement_is_missing_until_it_is_explained(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    lack = "Measuring began without an agreement that the client accepted"
    page, url = browse(consultant), reverse("campaign", args=[measured.campaign.key])
    assert lack not in text_of(page.get(url))  # the house has a reason
    measured.campaign.departures.all().delete()
    assert lack in text_of(page.get(url))
    offered(measured.campaign)
    assert "version 1: with the client" in text_of(page.get(url))
    unagreed(measured.campaign)
    assert lack not in text_of(page.get(url))
    measured.campaign.departures.all().delete()
    m.Deployment.objects.all().delete()
    assert lack not in text_of(page.get(url))
