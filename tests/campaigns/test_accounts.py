"""An account is its house's: nobody comes into another house by it, and what is done with it stands in the history."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.urls import reverse

from campaigns.models import ApiToken, Membership, Organisation, Role, Site, User
from campaigns.services import people, tokens
from tests import factories as make
from tests.campaigns.changes import told
from tests.campaigns.pages import Browse, errors, get, post, text
from tests.worlds import member

WANTED = "rosa@fanlight.example"
PASSWORD = "louvre-and-transom"


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Browser:
    return browse(consultant)


def add(browser: Browser, **data: Any) -> Any:
    return post(browser, "person-add", **({"email": WANTED, "role": "field", "name": "Rosa Lintel"} | data))


def link_of(browser: Browser, added: Any) -> str:
    return str(browser.get(added.url).context["link"])


def set_password(browser: Browser, link: str, password: str = PASSWORD) -> Any:
    page = browser.get(link, follow=True)
    words = {"new_password1": password, "new_password2": password}
    return browser.post(page.request["PATH_INFO"], words)


def test_an_account_made_in_one_house_opens_no_other(browse: Browse, owner: Browser, stranger: User) -> None:
    """Somebody elsewhere adds the address, sets its password, removes the person; then this house adds the address."""
    theirs, intruder = browse(stranger), browse(None)
    set_password(intruder, link_of(theirs, add(theirs)))
    assert get(intruder, "campaigns").status_code == 200
    post(theirs, "person-delete", Membership.objects.get(user__email=WANTED))
    add(owner)
    assert get(intruder, "campaigns").status_code != 200, "the old session is in"
    assert not browse(None).login(username=WANTED, password=PASSWORD), "the old password opens"


def test_nor_while_the_person_is_in_the_other_house(browse: Browse, owner: Browser, stranger: User, site: Site) -> None:
    theirs, intruder = browse(stranger), browse(None)
    set_password(intruder, link_of(theirs, add(theirs)))
    answer = add(owner)
    assert answer.status_code == 302, "what is said tells of accounts elsewhere"
    assert get(intruder, "site", site).status_code == 404
    set_password(browse(None), link_of(owner, answer), "mullion-and-sill")
    both = browse(None)
    assert both.login(username=WANTED, password="mullion-and-sill")
    assert get(both, "site", site).status_code == 200
    assert browse(None).login(username=WANTED, password=PASSWORD), "the other house's account is its own"


def test_who_has_no_role_left_loses_password_session_and_link(
    browse: Browse, owner: Browser, field_staff: User
) -> None:
    field_staff.set_password(PASSWORD)
    field_staff.save()
    membership, inside = field_staff.memberships.get(), browse(field_staff)
    link = get(owner, "person-link", membership).context["link"]
    assert get(inside, "password-change").status_code == 200
    post(owner, "person-delete", membership)
    assert get(inside, "password-change").status_code == 302
    assert not browse(None).login(username=field_staff.email, password=PASSWORD)
    assert "has been used" in text(browse(None).get(link, follow=True))


def test_who_comes_back_begins_with_a_new_link(browse: Browse, owner: Browser, field_staff: User) -> None:
    membership = field_staff.memberships.get()
    old = get(owner, "person-link", membership).context["link"]
    post(owner, "person-delete", membership)
    again = add(owner, email=field_staff.email)
    assert field_staff.memberships.get(), "it is the same account: what they did keeps its name"
    assert "has been used" in text(browse(None).get(old, follow=True))
    assert set_password(browse(None), link_of(owner, again)).status_code == 302


def test_a_removed_persons_tokens_end(owner: Browser, organisation: Organisation) -> None:
    colleague = member(organisation, Role.CONSULTANT, "second@fanlight.example")
    made = tokens.make(organisation, by=colleague, name="a program", scopes=["places"])
    ask = {"Authorization": f"Bearer {made.secret}"}
    assert owner.get("/api/v1/sites/", headers=ask).status_code == 200
    people.take_away(colleague.memberships.get())
    assert owner.get("/api/v1/sites/", headers=ask).status_code == 401
    assert ApiToken.objects.get().expired


def test_so_do_those_of_somebody_who_plans_no_more(consultant: User, organisation: Organisation) -> None:
    colleague = member(organisation, Role.CONSULTANT, "second@fanlight.example")
    made = tokens.make(organisation, by=colleague, name="a program", scopes=["places"]).token
    others = tokens.make(organisation, by=consultant, name="another", scopes=["places"]).token
    people.change_role(colleague.memberships.get(), Role.FIELD, None)
    made.refresh_from_db()
    others.refresh_from_db()
    assert (made.expired, others.expired) == (True, False)


@pytest.mark.parametrize("address", ["ſam@fanlight.example", "SAM@Fanlight.example", "ｓａｍ@fanlight.example"])
def test_one_address_is_one_account_however_it_is_spelled(organisation: Organisation, address: str) -> None:
    people.add_person(organisation, "sam@fanlight.example", "", Role.FIELD, None)
    with pytest.raises(ValidationError, match="already has a role"):
        people.add_person(organisation, address, "", Role.FIELD, None)
    assert User.objects.filter(email=address).count() == 1


@pytest.mark.parametrize("name", ["L" * 180, "R" * 151 + " Lintel"])
def test_a_name_that_does_not_fit_is_said_at_its_field(owner: Browser, site: Site, name: str) -> None:
    assert list(errors(add(owner, name=name))) == ["name"]
    assert not User.objects.filter(email=WANTED).exists()


def test_an_address_that_does_not_fit_is_said_at_its_field(owner: Browser, site: Site) -> None:
    assert list(errors(add(owner, email="a@" + ".".join(["b" * 60] * 5) + ".example"))) == ["email"]


def test_a_link_shows_no_number(owner: Browser, field_staff: User) -> None:
    link = get(owner, "person-link", field_staff.memberships.get()).context["link"]
    code = link.split("/set/")[1].split("/")[0]
    assert len(code) >= 20
    User.objects.filter(pk=field_staff.pk).update(key="00000000-0000-4000-8000-000000000000")
    assert "has been used" in text(Browser().get(link, follow=True))


# --- what stands in the history ---


@pytest.mark.history
def test_a_link_for_a_colleague_stands_in_the_history(browse: Browse, owner: Browser, consultant: User) -> None:
    answer = add(owner, role="consultant")
    row = Membership.objects.get(user__email=WANTED)
    set_password(browse(None), link_of(owner, answer))
    said = [(field, after) for _, field, _, after in told(row)]
    assert ("password link", "made") in said
    assert ("password link", "opened") in said
    assert ("password", "set with a link") in said
    page = text(get(owner, "person-history", row))
    assert "Password link" in page
    assert str(consultant) in page


@pytest.mark.history
def test_who_opened_a_link_while_logged_in_is_named(browse: Browse, owner: Browser, consultant: User) -> None:
    link = link_of(owner, add(owner, role="consultant"))
    owner.get(link, follow=True)
    entries = get(owner, "person-history", Membership.objects.get(user__email=WANTED)).context["entries"]
    opened = next(e for e in entries if ("Password link", "", "opened") in e["changes"])
    assert opened["who"] == str(consultant)


@pytest.mark.history
def test_what_became_of_accounts_and_tokens_is_told_after_they_are_gone(owner: Browser, stranger: User) -> None:
    add(owner)
    post(owner, "token-add", name="dashboard", scopes=["places"])
    post(owner, "token-delete", ApiToken.objects.get())
    post(owner, "person-delete", Membership.objects.get(user__email=WANTED))
    page = text(get(owner, "people-history"))
    for said in ("Rosa Lintel", "dashboard", "deleted", "created"):
        assert said in page
    assert "digest" not in page.lower()
    theirs = Browser()
    theirs.force_login(stranger)
    assert "Rosa Lintel" not in text(get(theirs, "people-history"))


@pytest.mark.history
def test_a_name_is_put_right_and_the_history_tells(owner: Browser, field_staff: User) -> None:
    row = field_staff.memberships.get()
    post(owner, "person-edit", row, name="Rosa Lintel", role="field")
    field_staff.refresh_from_db()
    assert field_staff.get_full_name() == "Rosa Lintel"
    assert ("changed", "name", "–", "Rosa Lintel") in told(row)


def test_the_name_of_an_account_that_is_not_ours_is_not_ours_to_change(owner: Browser, field_staff: User) -> None:
    Membership.objects.create(user=field_staff, organisation=make.OrganisationFactory(), role=Role.FIELD)
    post(owner, "person-edit", field_staff.memberships.first(), name="Somebody Else", role="field")
    field_staff.refresh_from_db()
    assert field_staff.get_full_name() == ""


def test_the_page_of_history_is_reached_from_the_people(owner: Browser) -> None:
    assert reverse("people-history") in text(get(owner, "people"))
