"""Inviting the client: who may, whom, and what the link opens."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from reports.services.reader_invitation import invitation
from reports.services.release import sign_and_release
from tests.reports.measured import House, house
from tests.reports.pages import Browse, text_of
from tests.worlds import World, member

GUEST = "guest@mullion.example"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    return browse(consultant)


def invite(owner: Client, measured: House, email: str = GUEST, **more: str) -> Any:
    return owner.post(reverse("readers", args=[measured.campaign.key]), {"email": email, **more}, follow=True)


def test_a_guest_sets_a_password_and_stands_before_the_released_findings(
    owner: Client, browse: Browse, measured: House, consultant: m.User
) -> None:
    sign_and_release(measured.campaign, consultant)
    link = invite(owner, measured, name="Ines Mullion").context["link"]
    guest = browse(None)
    form = guest.get(link, follow=True).request["PATH_INFO"]
    words = {"new_password1": "louvre-and-transom", "new_password2": "louvre-and-transom"}
    landed = guest.post(form, words, follow=True)
    assert landed.redirect_chain[-1][0] == reverse("released")
    assert measured.campaign.name in text_of(landed)
    assert guest.get(reverse("campaign", args=[measured.campaign.key])).status_code == 404
    spent = browse(None).get(link, follow=True)
    assert "has been used" in text_of(spent)


def test_before_a_release_the_page_says_that_there_is_nothing_to_read(owner: Client, measured: House) -> None:
    assert "Nothing of this campaign is released yet" in text_of(invite(owner, measured))


def test_a_reader_with_a_login_gets_the_findings_own_address(
    owner: Client, measured: House, consultant: m.User, client_person: m.User
) -> None:
    report = sign_and_release(measured.campaign, consultant)
    client_person.set_password("louvre-and-transom")
    client_person.save()
    page = invite(owner, measured, client_person.email)
    assert page.context["link"].endswith(reverse("released-report", args=[report.key]))
    assert m.Membership.objects.filter(user=client_person).count() == 1


def test_who_works_here_or_reads_for_another_client_is_not_invited(
    owner: Client, measured: House, field_staff: m.User, organisation: m.Organisation
) -> None:
    assert "works in the house already" in text_of(invite(owner, measured, field_staff.email))
    other = m.Client.objects.create(organisation=organisation, name="Another client")
    member(organisation, m.Role.CLIENT, "theirs@mullion.example", client=other)
    assert "reads for another client" in text_of(invite(owner, measured, "theirs@mullion.example"))


def test_an_address_of_another_house_gets_an_account_of_its_own_here(
    owner: Client, measured: House, stranger: m.User
) -> None:
    assert "With it they set a password" in text_of(invite(owner, measured, stranger.email))
    assert stranger.memberships.count() == 1
    assert m.Membership.objects.filter(user__email=stranger.email, role=m.Role.CLIENT).count() == 1


def test_without_a_client_nobody_can_be_invited(owner: Client, measured: House) -> None:
    m.Site.objects.filter(pk=measured.campaign.site_id).update(client=None)
    assert "Name the client" in text_of(owner.get(reverse("readers", args=[measured.campaign.key])))
    assert invite(owner, measured).status_code == 422
    assert not m.User.objects.filter(email=GUEST).exists()


def test_a_reader_of_another_client_has_no_invitation_here(
    owner: Client, measured: House, organisation: m.Organisation
) -> None:
    other = m.Client.objects.create(organisation=organisation, name="Another client")
    theirs = member(organisation, m.Role.CLIENT, "theirs@mullion.example", client=other).memberships.get()
    assert owner.get(reverse("reader-link", args=[measured.campaign.key, theirs.key])).status_code == 404


def test_an_invitation_of_a_new_person_works_once(measured: House, organisation: m.Organisation) -> None:
    user = member(organisation, m.Role.CLIENT, GUEST, client=measured.campaign.site.client)
    user.set_unusable_password()
    user.save()
    way_in = invitation(measured.campaign, user.memberships.get())
    assert way_in.once
    assert not way_in.released
