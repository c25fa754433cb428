"""Clients, people and their roles."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client as Browser

from campaigns.models import Client, Membership, Organisation, Role, Site, User
from campaigns.services.people import password_link
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text
from tests.worlds import member

NEW = "new@fanlight.example"


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Browser:
    return browse(consultant)


def add(owner: Browser, **data: Any) -> Any:
    return post(owner, "person-add", **({"email": NEW, "role": "field"} | data))


def test_a_client_is_added_renamed_and_once(owner: Browser, organisation: Organisation) -> None:
    post(owner, "client-add", name="Mullion Housing")
    client = Client.objects.get(organisation=organisation)
    assert errors(post(owner, "client-add", name="Mullion Housing")) == {
        "name": ["There is already a client of this name."]
    }
    post(owner, "client-edit", client, name="Mullion Homes")
    assert "Mullion Homes" in text(get(owner, "clients"))


def test_a_client_with_sites_stays(owner: Browser, site: Site) -> None:
    answer = post(owner, "client-delete", site.client)
    assert answer.status_code == 409
    assert "1 site hangs on it: Harbour House." in text(answer)


def test_a_new_person_sets_a_password_with_the_link_and_logs_in(owner: Browser, browse: Browse) -> None:
    answer = add(owner, name="Rosa Lintel")
    link = owner.get(answer.url).context["link"]
    newcomer = browse(None)
    page = newcomer.get(link, follow=True)
    newcomer.post(
        page.request["PATH_INFO"], {"new_password1": "louvre-and-transom", "new_password2": "louvre-and-transom"}
    )
    assert newcomer.login(username=NEW, password="louvre-and-transom")
    assert Membership.objects.get(user__email=NEW).role == Role.FIELD
    assert User.objects.get(email=NEW).get_full_name() == "Rosa Lintel"


def test_the_link_works_once(owner: Browser, browse: Browse) -> None:
    link = owner.get(add(owner).url).context["link"]
    user = User.objects.get(email=NEW)
    user.set_password("somebody-was-faster")
    user.save()
    assert "This link has been used" in text(browse(None).get(link, follow=True))


@pytest.mark.parametrize("address", ["consultant@fanlight.example", "Consultant@Fanlight.example"])
def test_nobody_is_added_twice(owner: Browser, address: str) -> None:
    told = errors(add(owner, email=address))
    assert list(told.values()) == [["This person already has a role in the organisation."]]


@pytest.mark.parametrize("who", ["stranger", "operator"])
def test_an_address_that_others_know_gets_an_account_of_its_own(owner: Browser, stranger: User, who: str) -> None:
    """Whoever made that login elsewhere could otherwise read here; and what is said must not tell that there is one."""
    theirs = stranger if who == "stranger" else User.objects.create_superuser("operator@fanlight.example")
    roles = theirs.memberships.count()
    assert add(owner, email=theirs.email).status_code == 302
    assert theirs.memberships.count() == roles
    mine = User.objects.filter(email=theirs.email).exclude(pk=theirs.pk).get()
    assert (mine.has_usable_password(), mine.is_superuser) == (False, False)


def test_somebody_who_left_can_come_back(owner: Browser, field_staff: User) -> None:
    post(owner, "person-delete", field_staff.memberships.get())
    assert not field_staff.memberships.exists()
    add(owner, email=field_staff.email)
    assert field_staff.memberships.get().role == Role.FIELD


def test_a_person_of_a_client_has_a_client_and_only_they(owner: Browser, site: Site) -> None:
    told = errors(add(owner, role="client"))
    assert told == {"client": ["Which client? They read what was released to this client only."]}
    told = errors(add(owner, client=site.client_id))
    assert told == {"client": ["Only a person of a client has one. Leave it empty."]}
    add(owner, role="client", client=site.client_id)
    assert Membership.objects.get(user__email=NEW).client == site.client


def test_a_client_of_others_is_neither_offered_nor_taken(owner: Browser, site: Site) -> None:
    theirs = make.ClientFactory(name="Their client")
    assert "Their client" not in text(get(owner, "person-add"))
    assert "client" in errors(add(owner, role="client", client=theirs.pk))


def test_roles_change(owner: Browser, field_staff: User, site: Site) -> None:
    membership = field_staff.memberships.get()
    post(owner, "person-edit", membership, role="client", client=site.client_id)
    membership.refresh_from_db()
    assert (membership.role, membership.client) == (Role.CLIENT, site.client)


def test_the_last_consultant_stays(owner: Browser, consultant: User, organisation: Organisation) -> None:
    membership = consultant.memberships.get()
    said = "This is the last consultant. Make somebody else a consultant first."
    assert errors(post(owner, "person-edit", membership, role="field")) == {"role": [said]}
    answer = post(owner, "person-delete", membership)
    assert (answer.status_code, said in text(answer)) == (409, True)
    member(organisation, Role.CONSULTANT, "second@fanlight.example")
    post(owner, "person-edit", membership, role="field")
    membership.refresh_from_db()
    assert membership.role == Role.FIELD


def test_no_link_for_a_login_that_opens_another_organisation(owner: Browser, field_staff: User) -> None:
    membership = field_staff.memberships.get()
    assert password_link(membership)
    member_elsewhere = Membership(user=field_staff, organisation=make.OrganisationFactory(), role=Role.FIELD)
    member_elsewhere.save()
    assert password_link(membership) == ""
    page = get(owner, "person-link", membership)
    assert page.context["link"] == ""
    assert "There is no link" in text(page)


def test_no_link_for_a_login_that_is_switched_off(field_staff: User) -> None:
    field_staff.is_active = False
    field_staff.save()
    assert password_link(Membership.objects.get(user=field_staff)) == ""


def test_people_of_others_are_not_listed(owner: Browser, stranger: User) -> None:
    assert stranger.email not in text(get(owner, "people"))
