"""What is to be signed can be read beforehand as the client will, marked as a draft, and only by who may release it."""

from __future__ import annotations

import io
from typing import Any

import pypdfium2
import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import User
from reports.content.stored import digest_of
from reports.models import Report
from reports.services import drafts
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def at_desk(consultant: User, browse: Browse) -> Client:
    return browse(consultant)


def at(measured: House, route: str, *more: Any) -> str:
    return reverse(route, args=[measured.campaign.key, *more])


def test_the_release_leads_to_it_and_both_name_one_digest(measured: House, at_desk: Client) -> None:
    release = at_desk.get(at(measured, "report"))
    for route in ("report-draft", "report-draft-pdf"):
        assert at(measured, route) in release.content.decode()
    digest = digest_of(freeze(measured.campaign))
    page = text_of(at_desk.get(at(measured, "report-draft")))
    assert digest in text_of(release)
    assert digest in page
    assert "Draft, not signed" in page
    assert "Signed by" not in page
    assert not Report.objects.exists()


def test_it_reads_as_what_is_released(measured: House, at_desk: Client, consultant: User) -> None:
    """The same paragraphs, apart from the mark and the signature."""
    draft = at_desk.get(at(measured, "report-draft"))
    report = sign_and_release(measured.campaign, consultant)
    released = at_desk.get(reverse("released-report", args=[report.key]))
    for part in ("content", "tally", "ranking_columns", "unmeasured", "cautions", "limit_text"):
        if part != "content":
            assert draft.context[part] == released.context[part], part
    assert draft.context["content"].unsigned == report.record.unsigned
    assert draft.context["content"].revision == report.revision
    zone = at_desk.get(at(measured, "report-draft-zone", measured.high.key))
    assert at(measured, "report-draft-zone", measured.high.key) in draft.content.decode()
    assert "Draft, not signed" in text_of(zone)


def test_the_pdf_is_marked_on_every_page_and_kept_nowhere(measured: House, at_desk: Client) -> None:
    answered = at_desk.get(at(measured, "report-draft-pdf"))
    assert (answered.status_code, answered["Content-Type"]) == (200, "application/pdf")
    document = pypdfium2.PdfDocument(io.BytesIO(answered.content))
    pages = ["".join(page.get_textpage().get_text_range().split()) for page in document]
    assert all("DRAFT,notsigned" in page for page in pages)
    said = "".join(pages)
    assert digest_of(freeze(measured.campaign)) in said
    assert "Signedandreleased" not in said
    assert not Report.objects.exists()


def test_one_at_a_time(measured: House, at_desk: Client) -> None:
    with drafts._setting:
        answered = at_desk.get(at(measured, "report-draft-pdf"))
    assert (answered.status_code, answered["Retry-After"]) == (503, "10")
    assert at_desk.get(at(measured, "report-draft-pdf")).status_code == 200


@pytest.mark.parametrize("who", ["field_staff", "client_person", "stranger"])
def test_nobody_else_reads_it(who: str, measured: House, browse: Browse, request: pytest.FixtureRequest) -> None:
    browser = browse(request.getfixturevalue(who))
    for address in (
        at(measured, "report-draft"),
        at(measured, "report-draft-pdf"),
        at(measured, "report-draft-zone", measured.high.key),
    ):
        assert browser.get(address).status_code == 404, address
