"""The page of releasing: what it shows, who may sign, and what stands before anything was released."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from reports.content.canonical import digest
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.reports.measured import House, house, work
from tests.reports.released import pages_of, sign, text
from tests.worlds import World

Browse = Callable[[m.User | None], Client]

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    return own_world.built


def test_before_the_release_a_client_finds_nothing(measured: House, client_person: m.User, browse: Browse) -> None:
    response = browse(client_person).get(reverse("released"))
    assert response.status_code == 200
    assert "Nothing has been released to you yet" in text(response)
    assert "Harbour House" not in text(response)


def test_names_are_text_and_not_markup(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    measured.high.name = "<script>alert(1)</script>"
    measured.high.save()
    report = sign_and_release(measured.campaign, consultant, "<b>C. Lintel</b>")
    for address in pages_of(report, measured)[:2]:
        page = browse(client_person).get(address).content.decode()
        assert "<script>alert" not in page
        assert "<b>C. Lintel" not in page
        assert "&lt;script&gt;alert(1)" in page


def test_the_page_shows_what_would_be_released(measured: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("report", args=[measured.campaign.key]))
    told = text(page)
    assert page.status_code == 200
    assert digest(freeze(measured.campaign)) in page.content.decode()
    assert "In 1 of 3 zones formaldehyde was below the limit" in told
    assert "Planned points not measured" in told
    assert "Sign and release" in told


def test_signing_releases_what_was_shown(measured: House, consultant: m.User, browse: Browse) -> None:
    response = sign(browse(consultant), measured.campaign)
    report = Report.objects.get()
    assert response.status_code == 302
    assert response.url == reverse("released-report", args=[report.key])
    assert (report.signed_name, report.signed_by) == ("C. Lintel", consultant)


@pytest.mark.parametrize("missing", ["name", "confirm", "seen"])
def test_without_name_and_confirmation_nothing_is_released(
    missing: str, measured: House, consultant: m.User, browse: Browse
) -> None:
    response = sign(browse(consultant), measured.campaign, **{missing: ""})
    assert response.status_code == 422
    assert not Report.objects.exists()


def test_a_page_that_is_out_of_date_is_not_signed(measured: House, consultant: m.User, browse: Browse) -> None:
    response = sign(browse(consultant), measured.campaign, seen="0" * 64)
    assert response.status_code == 409
    assert "Something has changed since you opened this page." in text(response)
    assert f'value="{digest(freeze(measured.campaign))}"' in response.content.decode()
    assert not Report.objects.exists()


def test_what_is_in_the_way_is_said_and_the_form_is_not_offered(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    m.Job.objects.create(
        kind="evaluate", subject_id=measured.campaign.pk, organisation=measured.campaign.site.organisation
    )
    page = browse(consultant).get(reverse("report", args=[measured.campaign.key]))
    assert "being judged from new inputs" in text(page)
    assert reverse("report-release", args=[measured.campaign.key]) not in page.content.decode()
    assert sign(browse(consultant), measured.campaign).status_code == 409


def test_while_it_is_being_set_the_page_waits(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    report = sign_and_release(measured.campaign, consultant, "C. Lintel")
    response = browse(client_person).get(reverse("report-pdf", args=[report.key]))
    assert response.status_code == 202
    assert "The PDF is being set." in text(response)
    assert 'http-equiv="refresh"' in response.content.decode()


def test_a_failed_pdf_can_be_set_again_by_a_consultant(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    report = sign_and_release(measured.campaign, consultant, "C. Lintel")
    m.Job.objects.filter(kind="make-pdf").update(state=m.Job.State.FAILED, message="A worker's secret.")
    address = reverse("report-pdf", args=[report.key])
    client = browse(client_person).get(address)
    assert (client.status_code, "Set it again" in text(client), "secret" in text(client)) == (200, False, False)
    assert "Set it again" in text(browse(consultant).get(address))
    browse(consultant).post(address)
    work()
    assert browse(client_person).get(address).headers["Content-Type"] == "application/pdf"
