"""Guessing a password is slowed down, of each account and from each host, before anything is hashed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client as Browser
from django.utils import timezone

from campaigns.models import PasswordTry, User
from campaigns.services import password_tries
from tests.campaigns.pages import Browse, get, post, text

PASSWORD = "louvre-and-transom"


@pytest.fixture(autouse=True)
def few(settings: Any) -> None:
    settings.PASSWORD_TRIES_PER_ACCOUNT, settings.PASSWORD_TRIES_PER_HOST = 3, 6
    settings.PASSWORD_TRIES_MINUTES = 15


@pytest.fixture
def person(consultant: User) -> User:
    consultant.set_password(PASSWORD)
    consultant.save()
    return consultant


@pytest.fixture
def hashed() -> Iterator[list[str]]:
    """What was compared with the hash of an account, or hashed in place of that."""
    seen: list[str] = []
    real = User.check_password

    def noticed(self: User, raw: str) -> bool:
        seen.append(raw)
        return real(self, raw)

    with patch.object(User, "check_password", noticed):
        yield seen


def log_in(browser: Browser, address: str, password: str, host: str = "192.0.2.7") -> Any:
    return browser.post("/login/", {"username": address, "password": password}, REMOTE_ADDR=host)


def later(minutes: int) -> None:
    PasswordTry.objects.update(at=timezone.now() - timedelta(minutes=minutes))


def test_after_too_many_nothing_is_hashed_and_the_page_says_when(
    browse: Browse, person: User, hashed: list[str]
) -> None:
    browser = browse(None)
    for n in range(3):
        assert log_in(browser, person.email, f"wrong-{n}", f"192.0.2.{n}").status_code == 200
    hashed.clear()
    answer = log_in(browser, person.email, PASSWORD, "198.51.100.1")
    assert (answer.status_code, hashed) == (429, [])
    assert "Too many wrong passwords. Try again in 15 minutes, at " in text(answer)


def test_it_ends_by_itself_although_somebody_goes_on(browse: Browse, person: User) -> None:
    for n in range(8):
        log_in(browse(None), person.email, f"wrong-{n}")
    assert PasswordTry.objects.count() == 3, "what is refused is not counted"
    later(16)
    assert log_in(browse(None), person.email, PASSWORD).status_code == 302


def test_another_spelling_is_the_same_account(browse: Browse, person: User) -> None:
    for address in (person.email, person.email.upper(), person.email.replace("s", "ſ")):
        log_in(browse(None), address, "wrong")
    assert log_in(browse(None), person.email, PASSWORD).status_code == 429


def test_an_account_that_is_not_there_answers_alike(browse: Browse, person: User) -> None:
    said = []
    for address in (person.email, "nobody@fanlight.example"):
        answers = [log_in(browse(None), address, "wrong", f"192.0.2.{len(address)}") for _ in range(4)]
        said.append([(a.status_code, a.context["form"].non_field_errors()) for a in answers])
    assert said[0] == said[1]


def test_one_host_guessing_at_many_accounts_is_stopped(browse: Browse, person: User) -> None:
    for n in range(6):
        assert log_in(browse(None), f"person{n}@fanlight.example", "wrong").status_code == 200
    assert log_in(browse(None), person.email, PASSWORD).status_code == 429
    assert log_in(browse(None), person.email, PASSWORD, "198.51.100.1").status_code == 302


def test_logging_in_oneself_does_not_open_the_way_to_others(browse: Browse, person: User) -> None:
    for n in range(5):
        log_in(browse(None), f"person{n}@fanlight.example", "wrong")
    assert log_in(browse(None), person.email, PASSWORD).status_code == 302
    log_in(browse(None), "one-more@fanlight.example", "wrong")
    assert log_in(browse(None), "last@fanlight.example", "wrong").status_code == 429


def test_who_gets_in_begins_anew(browse: Browse, person: User) -> None:
    for _ in range(3):
        log_in(browse(None), person.email, "wrong")
        log_in(browse(None), person.email, PASSWORD)
    assert log_in(browse(None), person.email, PASSWORD).status_code == 302
    assert not PasswordTry.objects.exists()


@pytest.mark.parametrize(
    ("host", "known_by"),
    [
        ("192.0.2.7", "192.0.2.7"),
        ("::ffff:192.0.2.7", "192.0.2.7"),
        ("2001:db8:1:2:aaaa::1", "2001:db8:1:2::"),
        ("", ""),
        ("unix:" + "x" * 90, "unix:" + "x" * 59),
    ],
)
def test_a_customer_of_ipv6_is_one_host(host: str, known_by: str) -> None:
    assert password_tries.host_known_by(host) == known_by


def test_the_old_password_cannot_be_guessed_either(browse: Browse, person: User, hashed: list[str]) -> None:
    browser = browse(person)
    new = {"new_password1": "mullion-and-sill", "new_password2": "mullion-and-sill"}
    for n in range(3):
        assert post(browser, "password-change", old_password=f"wrong-{n}", **new).status_code == 200
    hashed.clear()
    answer = post(browser, "password-change", old_password=PASSWORD, **new)
    assert (answer.status_code, hashed) == (429, [])
    assert "Too many wrong passwords" in text(answer)
    assert get(browser, "password-change").status_code == 200


def test_no_limit_where_the_operator_says_so(settings: Any, browse: Browse, person: User) -> None:
    settings.PASSWORD_TRIES_PER_ACCOUNT = settings.PASSWORD_TRIES_PER_HOST = 0
    for n in range(8):
        log_in(browse(None), person.email, f"wrong-{n}")
    assert log_in(browse(None), person.email, PASSWORD).status_code == 302


@pytest.mark.parametrize("password", ["4815162342", "481516234200", "louvre-sill", "password1234"])
def test_a_password_that_is_guessed_first_is_refused(password: str) -> None:
    with pytest.raises(ValidationError):
        validate_password(password)


def test_a_long_one_is_taken() -> None:
    validate_password(PASSWORD)
