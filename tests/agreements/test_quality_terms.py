"""Acceptance limits of quality control and times of use are agreed on, compared with what held, and printed."""

from __future__ import annotations

import io

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.frozen.agreement import digest_of, from_store
from campaigns.models import Agreement
from campaigns.services import acceptance_limits, agreements
from campaigns.services.agreed_terms import used_terms
from methods.wording.agreements import differences
from reports.content.stored import from_store as report_from
from reports.content.stored import to_store
from reports.pages.workbook_agreed import agreed_rows
from reports.pdf import render
from reports.services.departures import agreement_standing
from reports.services.freeze import freeze
from reports.services.freezing.agreements import agreed_of
from tests import factories as make
from tests.agreeing import accepted, client_of, offered
from tests.database import unguarded
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
BIAS = "Bias of a meter side by side: at most 10 % of the median of all meters"


def build(world: World) -> House:
    found = house(world.site)
    found.campaign.planned_points.filter(point__room__zone=found.empty).delete()
    return found


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def agreed(measured: House) -> Agreement:
    acceptance_limits.put(measured.campaign, {"bias": 10.0}, None)
    return accepted(measured.campaign)


@pytest.fixture
def at_client(client_person: m.User, browse: Browse) -> Client:
    return browse(client_person)


def items(measured: House) -> list[str]:
    return [d.item for d in agreement_standing(m.Campaign.objects.get(pk=measured.campaign.pk)).departures]


def test_the_client_reads_them_before_accepting(measured: House, at_client: Client) -> None:
    acceptance_limits.put(measured.campaign, {"bias": 10.0, "points": None}, None)
    row = offered(measured.campaign)
    shown = text_of(at_client.get(reverse("client-agreement", args=[row.key])))
    assert BIAS in shown
    assert "Planned points with a usable result" not in shown


def test_another_limit_is_a_departure(agreed: Agreement, measured: House) -> None:
    assert items(measured) == []
    acceptance_limits.put(measured.campaign, {"bias": 20.0}, None)
    assert items(measured) == ["Acceptance limit, bias of a meter side by side"]


def test_an_agreement_of_before_is_held_against_none(agreed: Agreement, measured: House) -> None:
    old = {**agreed.content, "format": 1, "terms": dict(agreed.content["terms"])}
    del old["terms"]["acceptance"]
    terms = from_store(old).terms
    assert terms.acceptance is None
    assert differences(terms, used_terms(measured.campaign)) == ()


def test_the_report_prints_them(agreed: Agreement, measured: House) -> None:
    content = signed_content(freeze(measured.campaign))
    document = pypdfium2.PdfDocument(io.BytesIO(render(content)))
    said = " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())
    assert BIAS in said.replace("\ufffe", "").replace("\u200b", "")
    rows = agreed_rows(agreed_of(measured.campaign))
    assert ("quality control", BIAS) in [(row["item"], row["agreed"]) for row in rows]


def test_a_report_of_before_printed_none(agreed: Agreement, measured: House) -> None:
    stored = {**to_store(signed_content(freeze(measured.campaign))), "format": 10}
    del stored["undecided_logs"], stored["agreed"]["agreement"]["use"], stored["agreed"]["agreement"]["acceptance"]
    record = report_from(stored)
    assert record.agreed
    assert record.agreed.agreement
    assert (record.agreed.agreement.acceptance, record.agreed.agreement.use, record.undecided_logs) == ((), (), ())


def test_the_agreed_time_of_use_is_printed(measured: House, browse: Browse, consultant: m.User) -> None:
    row = accepted(measured.campaign)
    terms = {**row.content["terms"], "use": ["Attic studio: Mon-Fri 08:00-16:00"]}
    content = {**row.content, "terms": terms}
    with unguarded("campaigns_agreement"):
        Agreement.objects.filter(pk=row.pk).update(content=content, digest=digest_of(content))
    said = agreed_of(measured.campaign)
    assert said.agreement
    assert said.agreement.use == ("Attic studio: Mon-Fri 08:00-16:00",)
    assert "time of use" in [line["item"] for line in agreed_rows(said)]


# --- late, and declined ---


def test_both_pages_warn_once_measuring_began(
    measured: House, browse: Browse, consultant: m.User, at_client: Client
) -> None:
    row = offered(measured.campaign)
    pages = (
        (browse(consultant), reverse("agreement", args=[measured.campaign.key])),
        (at_client, reverse("client-agreement", args=[row.key])),
    )
    for browser, url in pages:
        assert "Measuring has begun: 2026-09-15" in text_of(browser.get(url))
    other = make.CampaignFactory(site=measured.campaign.site)
    assert "has begun" not in text_of(browse(consultant).get(reverse("agreement", args=[other.key])))


def test_the_accepted_version_keeps_its_link_after_a_later_one_was_declined(measured: House, at_client: Client) -> None:
    first = accepted(measured.campaign)
    second = offered(measured.campaign, question="Another?")
    agreements.decline(second, client_of(measured.campaign), seen=second.digest, comment="No.")
    start = at_client.get("/", follow=True).content.decode()
    for row in (first, second):
        assert reverse("client-agreement", args=[row.key]) in start
