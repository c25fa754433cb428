from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command
from django.test import Client

from campaigns.models import Membership, Organisation, Role, User


def add(name: str = "New House", email: str = "first@fanlight.example") -> str:
    out = io.StringIO()
    call_command("add_organisation", name, email, "--person", "Ada First", stdout=out)
    return out.getvalue()


@pytest.mark.django_db
def test_the_first_consultant_can_set_a_password_and_log_in() -> None:
    told = add()
    (link,) = [line.strip() for line in told.splitlines() if line.startswith("  ")]
    assert Membership.objects.get().role == Role.CONSULTANT
    browser = Client()
    page = browser.get(link, follow=True)
    secret = "a long enough phrase 7"
    browser.post(page.redirect_chain[-1][0] if page.redirect_chain else link,
                 {"new_password1": secret, "new_password2": secret})  # fmt: skip
    assert User.objects.get().check_password(secret)


@pytest.mark.django_db
def test_a_name_is_taken_once() -> None:
    add()
    with pytest.raises(CommandError, match="already"):
        add(email="second@fanlight.example")
    assert Organisation.objects.count() == 1


@pytest.mark.django_db
def test_a_database_without_tables_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.db.migrations.recorder.MigrationRecorder.applied_migrations", lambda self: {})
    with pytest.raises(CommandError, match="migrate"):
        add()
    assert not Organisation.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["H" * 201, "New\x0bHouse"])
def test_a_name_that_cannot_be_kept_is_said(name: str) -> None:
    with pytest.raises(CommandError):
        add(name)
    assert not Organisation.objects.exists()
