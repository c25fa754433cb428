"""A report is signed by an account, under its own name, with its password."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from reports.content.stored import digest_of
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.release import NotReleased, sign_and_release
from tests.agreeing import unagreed
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World

PASSWORD = "louvre-and-transom"
pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    consultant.set_password(PASSWORD)
    consultant.save()
    return browse(consultant)


def sign(browser: Client, campaign: m.Campaign, **more: str) -> Any:
    said = {"password": PASSWORD, "confirm": "on", "seen": digest_of(freeze(campaign))} | more
    return browser.post(reverse("report-release", args=[campaign.key]), said)


def test_it_stands_under_the_name_of_the_account(owner: Client, measured: House, consultant: m.User) -> None:
    sign(owner, measured.campaign, name="Somebody Else", qualification="occupational hygienist")
    report = Report.objects.get()
    assert (report.signed_name, report.signed_by) == ("C. Lintel", consultant)
    assert report.signed_qualification == "occupational hygienist"
    assert report.record.signature.name == "C. Lintel, occupational hygienist"


def test_without_a_qualification_it_is_the_name_alone(owner: Client, measured: House) -> None:
    sign(owner, measured.campaign)
    assert Report.objects.get().record.signature.name == "C. Lintel"


@pytest.mark.parametrize("password", ["", "wrong-and-transom"])
def test_without_the_password_nothing_is_signed(owner: Client, measured: House, password: str) -> None:
    answer = sign(owner, measured.campaign, password=password)
    assert answer.status_code == 422
    assert "password" in answer.context["form"].errors
    assert not Report.objects.exists()


def test_the_password_cannot_be_guessed_here(owner: Client, measured: House, settings: Any) -> None:
    settings.PASSWORD_TRIES_PER_ACCOUNT = 2
    for n in range(2):
        sign(owner, measured.campaign, password=f"wrong-{n}")
    answer = sign(owner, measured.campaign)
    assert answer.status_code == 422
    assert "Too many wrong passwords" in text_of(answer)
    assert not Report.objects.exists()


def test_a_password_is_never_sent_back(owner: Client, measured: House) -> None:
    answer = sign(owner, measured.campaign, seen="0" * 64)
    assert answer.status_code == 409
    assert PASSWORD not in answer.content.decode()


def test_an_account_without_a_name_signs_nothing(owner: Client, measured: House, consultant: m.User) -> None:
    consultant.first_name = consultant.last_name = ""
    consultant.save()
    assert "Your account has no name" in text_of(owner.get(reverse("report", args=[measured.campaign.key])))
    measured.campaign.departures.all().delete()  # something else in the way hides nothing
    assert "Your account has no name" in text_of(owner.get(reverse("report", args=[measured.campaign.key])))
    unagreed(measured.campaign)
    with pytest.raises(NotReleased, match="has no name"):
        sign_and_release(measured.campaign, consultant)
    answer = sign(owner, measured.campaign)
    assert answer.status_code == 409
    assert "Your account has no name" in text_of(answer)
    page = owner.get(reverse("report", args=[measured.campaign.key]))
    assert reverse("person-edit", args=[consultant.memberships.get().key]) in page.content.decode()
