"""The pages of releasing and of what was released: who sees what, and that only what was signed is told."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.services.workers import NO_WORKER, beat
from reports.content.stored import digest_of
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.release import sign_and_release, withdraw
from tests import factories as make
from tests.reports.measured import House, house, judge, work
from tests.worlds import World, member

Browse = Callable[[m.User | None], Client]


WHY = "The meter was the wrong one."
pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def consultant(consultant: m.User) -> m.User:
    """With the password that signing asks for."""
    consultant.set_password("louvre-and-transom")
    consultant.save()
    return consultant


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    report = sign_and_release(measured.campaign, consultant)
    work()
    report.refresh_from_db()
    return report


@pytest.fixture
def other_client(site: m.Site) -> m.User:
    """Somebody of another client of the same consultancy."""
    client = make.ClientFactory(organisation=site.organisation)
    return member(site.organisation, m.Role.CLIENT, "other@fanlight.example", client=client)


def pages_of(report: Report, measured: House) -> list[str]:
    return [
        reverse("released-report", args=[report.key]),
        reverse("released-zone", args=[report.key, measured.high.key]),
        reverse("report-pdf", args=[report.key]),
    ]


def text(response: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def sign(browser: Client, campaign: m.Campaign, **more: str) -> Any:
    said = {"password": "louvre-and-transom", "confirm": "on", "seen": digest_of(freeze(campaign))} | more
    return browser.post(reverse("report-release", args=[campaign.key]), {k: v for k, v in said.items() if v})


# --- who ---


def test_before_the_release_a_client_finds_nothing(measured: House, client_person: m.User, browse: Browse) -> None:
    response = browse(client_person).get(reverse("released"))
    assert response.status_code == 200
    assert "Nothing has been released to you yet" in text(response)
    assert "Harbour House" not in text(response)


def test_after_the_release_the_client_reads(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    browser = browse(client_person)
    listed = browser.get(reverse("released"))
    assert "In 1 of 3 zones formaldehyde was below the limit of 0.1 mg/m³" in text(listed)
    for address in pages_of(released, measured):
        assert browser.get(address).status_code == 200, address


def test_staff_of_the_house_read_it_too(released: Report, measured: House, field_staff: m.User, browse: Browse) -> None:
    for address in pages_of(released, measured):
        assert browse(field_staff).get(address).status_code == 200, address


@pytest.mark.parametrize("who", ["other_client", "stranger"])
def test_others_find_nothing(
    who: str, released: Report, measured: House, browse: Browse, request: pytest.FixtureRequest
) -> None:
    browser = browse(request.getfixturevalue(who))
    for address in pages_of(released, measured):
        assert browser.get(address).status_code == 404, address
    assert "Harbour House" not in text(browser.get(reverse("released")))
    withdraw(released, released.signed_by, WHY)
    assert browser.get(pages_of(released, measured)[0]).status_code == 404
    assert "withdrawn" not in text(browser.get(reverse("released")))


def test_the_anonymous_are_asked_to_log_in(released: Report, measured: House, browse: Browse) -> None:
    for address in [*pages_of(released, measured), reverse("released")]:
        response: Any = browse(None).get(address)
        assert (response.status_code, response.url.split("?")[0]) == (302, reverse("login"))


def test_a_zone_the_report_does_not_know_is_nothing(released: Report, client_person: m.User, browse: Browse) -> None:
    elsewhere = make.ZoneFactory()
    address = reverse("released-zone", args=[released.key, elsewhere.key])
    assert browse(client_person).get(address).status_code == 404


@pytest.mark.parametrize("who", ["field_staff", "client_person", "other_client", "stranger"])
def test_only_consultants_of_the_house_release_and_withdraw(
    who: str, released: Report, measured: House, browse: Browse, request: pytest.FixtureRequest
) -> None:
    browser = browse(request.getfixturevalue(who))
    assert browser.get(reverse("report", args=[measured.campaign.key])).status_code == 404
    assert sign(browser, measured.campaign).status_code == 404
    assert browser.post(reverse("report-withdraw", args=[released.key])).status_code == 404
    assert browser.post(reverse("report-pdf", args=[released.key])).status_code == 404
    assert list(Report.objects.values_list("revision", "withdrawn_at")) == [(1, None)]


# --- what ---


def test_plain_words_come_before_numbers_and_method(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    told = text(browse(client_person).get(reverse("released-report", args=[released.key])))
    order = [
        "In 1 of 3 zones formaldehyde was below the limit",
        "The building",
        "The zones",
        "The mean of any 30 min should not be above 0.1 mg/m³.",
        "What was not measured",
        "How it was judged",
        "What the words mean",
        released.digest,
    ]
    at = [told.index(part) for part in order]
    assert at == sorted(at)


def test_the_cautions_stand_before_the_numbers(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    for address in pages_of(released, measured)[:2]:
        told = text(browse(client_person).get(address))
        caution = "It does not say that the air is free of risk."
        assert told.index(caution) < told.index("± 0.0")


def test_an_unmeasured_zone_has_a_page_that_says_so(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    address = reverse("released-zone", args=[released.key, measured.empty.key])
    told = text(browse(client_person).get(address))
    assert "Not measured. Nothing is concluded about this zone." in told
    assert "Cellar room, centre (planned, not visited)" in told


def test_a_zone_page_shows_only_its_own_zone(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    attic = text(browse(client_person).get(reverse("released-zone", args=[released.key, measured.high.key])))
    assert "Attic studio room, centre" in attic
    assert "attic and library.csv" in attic  # the file its own number comes from
    assert "Library room" not in attic
    assert released.record.signature.name in attic


def test_a_limit_can_be_chosen_and_a_wrong_one_is_nothing(
    released: Report, client_person: m.User, browse: Browse
) -> None:
    address = reverse("released-report", args=[released.key])
    told = text(browse(client_person).get(address, {"limit": "C2"}))
    assert "The mean of a sample of 8 h should not be above 50 µg/m³." in told
    assert browse(client_person).get(address, {"limit": "C9"}).status_code == 404


@pytest.mark.parametrize(("asked", "marked"), [({}, 0), ({"limit": "C2"}, 1)])
def test_the_limit_that_is_shown_is_marked_in_the_switch(
    asked: dict[str, str], marked: int, released: Report, client_person: m.User, browse: Browse
) -> None:
    page: Any = browse(client_person).get(reverse("released-report", args=[released.key]), asked)
    assert [now for _, _, now in page.context["options"]] == [n == marked for n in range(2)]


def test_later_edits_do_not_leak(released: Report, measured: House, client_person: m.User, browse: Browse) -> None:
    browser = browse(client_person)
    before = [browser.get(address).content for address in pages_of(released, measured)[:2]]
    later = "Renamed afterwards"
    m.Site.objects.filter(pk=measured.campaign.site_id).update(name=later, address=later)
    m.Campaign.objects.filter(pk=measured.campaign.pk).update(name=later, objective=later, protocol=later)
    m.Zone.objects.filter(pk=measured.high.pk).update(name=later, use=later)
    m.Room.objects.update(name=later)
    m.Floor.objects.update(name=later)
    m.Instrument.objects.update(name=later, serial=later)
    m.Organisation.objects.filter(pk=measured.campaign.site.organisation_id).update(name=later)
    m.User.objects.filter(pk=released.signed_by_id).update(first_name=later)
    line = m.Calibration.objects.get(channel=measured.channel)
    line.slope = 0.2  # and now the attic studio would be below
    line.save()
    judge(measured.campaign)
    after = [browser.get(address).content for address in pages_of(released, measured)[:2]]
    assert [unmasked(page) for page in after] == [unmasked(page) for page in before]
    assert later not in text(browser.get(reverse("released")))


def unmasked(page: bytes) -> bytes:
    """Without the token against forged requests, which is new on every page."""
    return re.sub(rb'(csrfmiddlewaretoken" value=|X-CSRFToken": )"[^"]+"', b"", page)


def test_names_are_text_and_not_markup(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    measured.high.name = "<script>alert(1)</script>"
    measured.high.save()
    report = sign_and_release(measured.campaign, consultant, "<b>hygienist</b>")
    for address in pages_of(report, measured)[:2]:
        page = browse(client_person).get(address).content.decode()
        assert "<script>alert" not in page
        assert "<b>hygienist" not in page
        assert "&lt;script&gt;alert(1)" in page


# --- revisions ---


def second(measured: House, consultant: m.User) -> Report:
    line = m.Calibration.objects.get(channel=measured.channel)
    line.slope = 0.2
    line.save()
    judge(measured.campaign)
    return sign_and_release(measured.campaign, consultant)


def test_a_second_revision_says_what_changed_and_the_first_leads_to_it(
    released: Report, measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    later = second(measured, consultant)
    browser = browse(client_person)
    told = text(browser.get(reverse("released-report", args=[later.key])))
    assert "What is different from revision 1" in told
    assert "Attic studio, HCHO ≤ 0.1 mg/m³" in told
    assert "Superseded" not in told
    first = browser.get(reverse("released-report", args=[released.key]))
    assert "A later revision has replaced this one." in text(first)
    assert reverse("released-report", args=[later.key]) in first.content.decode()
    listed = browser.get(reverse("released")).content.decode()
    assert str(later.key) in listed
    assert str(released.key) not in listed


def test_a_withdrawn_revision_is_gone_for_the_client_and_marked_for_the_house(
    released: Report, measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    page, at_desk = reverse("report-withdraw", args=[released.key]), browse(consultant)
    for sent in ({"password": "louvre-and-transom"}, {"reason": WHY}, {"reason": WHY, "password": "wrong"}):
        assert at_desk.post(page, sent).status_code == 422, sent
    assert Report.objects.get().released
    assert at_desk.post(page, {"reason": WHY, "password": "louvre-and-transom"}).status_code == 302
    for address in pages_of(released, measured):
        gone = browse(client_person).get(address)
        assert gone.status_code == 410, address
        assert "Revision 1 was withdrawn on" in text(gone)
        assert WHY in text(gone)
    start = text(browse(client_person).get(reverse("released")))
    assert f": {WHY} There is no valid report at the moment." in start
    told = text(browse(consultant).get(reverse("released-report", args=[released.key])))
    assert "Revision 1 was withdrawn on" in told
    assert WHY in told


def test_what_a_withdrawn_revision_had_replaced_does_not_pass_for_current(
    released: Report, measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    withdraw(second(measured, consultant), consultant, WHY)
    told = text(browse(client_person).get(reverse("released-report", args=[released.key])))
    assert "A later revision had replaced this one and was then withdrawn." in told
    start = text(browse(client_person).get(reverse("released")))
    assert "Superseded Revision 2 was withdrawn on" in start
    assert f"{WHY} It had replaced this revision, so there is no valid report at the moment." in start


# --- signing on the page ---


def test_the_page_shows_what_would_be_released(measured: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(reverse("report", args=[measured.campaign.key]))
    told = text(page)
    assert page.status_code == 200
    assert digest_of(freeze(measured.campaign)) in page.content.decode()
    assert "In 1 of 3 zones formaldehyde was below the limit" in told
    assert "Planned points not measured" in told
    assert "Sign and release" in told


def test_signing_releases_what_was_shown(measured: House, consultant: m.User, browse: Browse) -> None:
    response = sign(browse(consultant), measured.campaign)
    report = Report.objects.get()
    assert response.status_code == 302
    assert response.url == reverse("released-report", args=[report.key])
    assert (report.signed_name, report.signed_by) == ("C. Lintel", consultant)


@pytest.mark.parametrize("missing", ["password", "confirm", "seen"])
def test_without_password_and_confirmation_nothing_is_released(
    missing: str, measured: House, consultant: m.User, browse: Browse
) -> None:
    response = sign(browse(consultant), measured.campaign, **{missing: ""})
    assert response.status_code == 422
    assert not Report.objects.exists()


def test_a_page_that_is_out_of_date_is_not_signed(measured: House, consultant: m.User, browse: Browse) -> None:
    response = sign(browse(consultant), measured.campaign, seen="0" * 64)
    assert response.status_code == 409
    assert "Something has changed since you opened this page." in text(response)
    assert f'value="{digest_of(freeze(measured.campaign))}"' in response.content.decode()
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


def test_the_same_is_not_offered_again(released: Report, measured: House, consultant: m.User, browse: Browse) -> None:
    told = text(browse(consultant).get(reverse("report", args=[measured.campaign.key])))
    assert "Revision 1 already says exactly this." in told
    assert released.digest[:16] in told


# --- the PDF ---


def test_the_pdf_is_served_as_one(released: Report, client_person: m.User, browse: Browse) -> None:
    response = browse(client_person).get(reverse("report-pdf", args=[released.key]))
    assert response.headers["Content-Type"] == "application/pdf"
    assert "harbour-house-revision-1.pdf" in response.headers["Content-Disposition"]
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    assert b"".join(response.streaming_content).startswith(b"%PDF-")  # type: ignore[attr-defined]


def test_while_it_is_being_set_the_page_waits(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    report = sign_and_release(measured.campaign, consultant)
    response = browse(client_person).get(reverse("report-pdf", args=[report.key]))
    assert response.status_code == 202
    assert f"The PDF has not been set yet. {NO_WORKER}" in text(response)
    beat("worker@here 1")
    response = browse(client_person).get(reverse("report-pdf", args=[report.key]))
    assert "The PDF is being set." in text(response)
    assert 'http-equiv="refresh"' in response.content.decode()


def test_a_failed_pdf_can_be_set_again_by_a_consultant(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    report = sign_and_release(measured.campaign, consultant)
    m.Job.objects.filter(kind="make-pdf").update(state=m.Job.State.FAILED, message="A worker's secret.")
    address = reverse("report-pdf", args=[report.key])
    client = browse(client_person).get(address)
    assert (client.status_code, "Set it again" in text(client), "secret" in text(client)) == (200, False, False)
    assert "Set it again" in text(browse(consultant).get(address))
    browse(consultant).post(address)
    work()
    assert browse(client_person).get(address).headers["Content-Type"] == "application/pdf"
