"""A released report stays with the client it was released to, whoever the site belongs to later."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from reports.migrations._whose import client_of as named
from reports.models import Report
from reports.services.reader_invitation import invitation
from reports.services.release import sign_and_release
from tests import factories as make
from tests.reports.measured import House, house, work
from tests.reports.pages import Browse, text_of
from tests.worlds import World, member

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    return sign_and_release(measured.campaign, consultant)


@pytest.fixture
def buyer(site: m.Site) -> m.User:
    """Somebody of whoever buys the building."""
    client = make.ClientFactory(organisation=site.organisation, name="Transom Estates")
    return member(site.organisation, m.Role.CLIENT, "buyer@fanlight.example", client=client)


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    return browse(consultant)


def change_client(owner: Client, site: m.Site, client: m.Client | None, **more: str) -> Any:
    data = {"name": site.name, "time_zone": site.time_zone, "altitude_m": "0", "client": client.pk if client else ""}
    return owner.post(reverse("site-edit", args=[site.key]), data | more)


def client_of(person: m.User) -> m.Client:
    client = person.memberships.get().client
    assert client is not None
    return client


def test_the_report_stays_with_the_client_it_was_released_to(
    owner: Client, browse: Browse, released: Report, measured: House, client_person: m.User, buyer: m.User
) -> None:
    change_client(owner, measured.campaign.site, client_of(buyer), client_confirmed="on")
    assert m.Site.objects.get(pk=measured.campaign.site_id).client == client_of(buyer)
    address = reverse("released-report", args=[released.key])
    assert browse(client_person).get(address).status_code == 200
    assert browse(buyer).get(address).status_code == 404
    assert "Harbour House" not in text_of(browse(buyer).get(reverse("released")))
    assert "Harbour House" in text_of(browse(client_person).get(reverse("released")))


def test_changing_the_client_of_released_reports_asks(
    owner: Client, released: Report, measured: House, buyer: m.User
) -> None:
    site = measured.campaign.site
    refused = change_client(owner, site, client_of(buyer))
    assert refused.status_code == 422
    assert "client_confirmed" in refused.context["form"].errors
    told = text_of(refused)
    assert f"1 report was released to {site.client}" in told
    site.refresh_from_db()
    assert site.client != client_of(buyer)
    assert change_client(owner, site, site.client).status_code == 302, "another name asks nothing"


def test_without_released_reports_nothing_is_asked(owner: Client, measured: House, buyer: m.User) -> None:
    site = measured.campaign.site
    assert "client_confirmed" not in owner.get(reverse("site-edit", args=[site.key])).context["form"].fields
    assert change_client(owner, site, client_of(buyer)).status_code == 302


def test_the_next_revision_is_the_new_clients_and_tells_nothing_of_the_old(
    owner: Client, browse: Browse, released: Report, measured: House, consultant: m.User, client_person: m.User,
    buyer: m.User,
) -> None:  # fmt: skip
    change_client(owner, measured.campaign.site, client_of(buyer), client_confirmed="on")
    work()
    second = sign_and_release(m.Campaign.objects.get(pk=measured.campaign.pk), consultant)
    assert (second.client, second.changes) == (client_of(buyer), "")
    assert browse(buyer).get(reverse("released-report", args=[second.key])).status_code == 200
    assert browse(client_person).get(reverse("released-report", args=[second.key])).status_code == 404


def test_a_new_reader_is_not_led_to_what_they_may_not_read(
    owner: Client, released: Report, measured: House, buyer: m.User
) -> None:
    buyer.set_password("louvre-and-transom")
    buyer.save()
    change_client(owner, measured.campaign.site, client_of(buyer), client_confirmed="on")
    way_in = invitation(m.Campaign.objects.get(pk=measured.campaign.pk), buyer.memberships.get())
    assert (way_in.path, way_in.released) == (reverse("released"), False)


def test_a_client_with_reports_stays(owner: Client, released: Report, buyer: m.User) -> None:
    held = released.client
    assert held is not None
    m.Site.objects.update(client=client_of(buyer))
    m.Membership.objects.filter(client=held).delete()
    assert owner.post(reverse("client-delete", args=[held.key])).status_code == 409


# --- reports from before ---


def test_earlier_reports_go_to_the_client_they_name(released: Report, site: m.Site, buyer: m.User) -> None:
    was = released.client
    assert was is not None
    names = {was.name: was.pk, "Transom Estates": client_of(buyer).pk}
    assert named(was.name, names, {}) == was.pk
    assert named("", names, {}) is None
    assert named("Renamed since", names, {"Renamed since": was.pk}) == was.pk
    assert named("Nobody knows", names, {}) is None
