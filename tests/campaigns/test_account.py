from __future__ import annotations

import pytest
from django.urls import NoReverseMatch, reverse

from campaigns.models import User
from campaigns.navigation import ENTRIES
from tests.campaigns.pages import Browse, get, post, text


def test_the_front_page_leads_to_ones_own_work(
    browse: Browse, consultant: User, field_staff: User, client_person: User
) -> None:
    assert get(browse(consultant), "home").url == "/campaigns/"
    assert get(browse(field_staff), "home").url == "/campaigns/"
    assert get(browse(client_person), "home").url == reverse("released")
    assert get(browse(None), "home").url == "/login/?next=/"


def test_somebody_without_a_role_is_told_so(browse: Browse, db: None) -> None:
    newcomer = browse(User.objects.create_user("new@fanlight.example"))
    assert "no organisation has given you a role" in text(get(newcomer, "home"))
    assert get(newcomer, "sites").status_code == 404


def test_logging_in_by_address_in_any_case(browse: Browse, consultant: User) -> None:
    consultant.set_password("louvre-and-transom")
    consultant.save()
    answer = post(browse(None), "login", username="Consultant@Fanlight.example", password="louvre-and-transom")
    assert answer.url == "/"


def test_a_wrong_password(browse: Browse, consultant: User) -> None:
    answer = post(browse(None), "login", username=consultant.email, password="wrong")
    assert answer.status_code == 200
    assert answer.context["form"].non_field_errors()


def test_a_link_cannot_log_out(browse: Browse, consultant: User) -> None:
    browser = browse(consultant)
    assert get(browser, "logout").status_code == 405
    assert post(browser, "logout").url == "/login/"
    assert get(browser, "sites").status_code == 302


def test_the_password_is_changed(browse: Browse, consultant: User) -> None:
    consultant.set_password("louvre-and-transom")
    consultant.save()
    new = {"new_password1": "mullion-and-sill", "new_password2": "mullion-and-sill"}
    post(browse(consultant), "password-change", old_password="louvre-and-transom", **new)
    consultant.refresh_from_db()
    assert consultant.check_password("mullion-and-sill")


@pytest.mark.parametrize("route", [route for _, route, _, _ in ENTRIES])
def test_the_navigation_leads_somewhere(route: str) -> None:
    try:
        assert reverse(route).startswith("/")
    except NoReverseMatch:
        pytest.fail(f"the navigation offers {route!r}, which is no route")


def test_the_navigation_offers_what_the_role_may_see(
    browse: Browse, consultant: User, field_staff: User, client_person: User
) -> None:
    def offered(person: User) -> list[str]:
        return [label for label, _, _ in get(browse(person), "password-change").context["nav"]]

    assert offered(consultant) == ["Campaigns", "Sites", "Instruments", "Limits", "Work", "People"]
    assert offered(field_staff) == ["Campaigns", "Sites", "Instruments", "Limits", "Work"]
    assert offered(client_person) == ["Findings"]


def test_the_navigation_says_where_one_is(browse: Browse, consultant: User) -> None:
    nav = get(browse(consultant), "instrument-types").context["nav"]
    assert [label for label, _, current in nav if current] == ["Instruments"]
