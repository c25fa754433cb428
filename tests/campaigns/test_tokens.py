from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.utils import timezone

from campaigns.models import ApiToken, User
from campaigns.services.tokens import TOO_FAR, end_of
from methods.quantities.moments import OUT_OF_REACH
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def test_the_secret_is_shown_once_and_kept_as_a_hash(owner: Client, consultant: User) -> None:
    answer = post(owner, "token-add", name="dashboard", scopes=["places", "readings"])
    token, secret = ApiToken.objects.get(), answer.context["secret"]
    assert secret in text(answer)
    assert token.digest == ApiToken.digest_of(secret)
    assert (token.scopes, token.made_by, token.expires_at) == (["places", "readings"], consultant, None)
    assert secret not in text(get(owner, "tokens"))


def test_it_works_to_the_end_of_its_last_day(owner: Client) -> None:
    day = timezone.now().astimezone(UTC).date() + timedelta(days=3)
    post(owner, "token-add", name="dashboard", scopes=["places"], last_day=day.isoformat())
    after = day + timedelta(days=1)
    assert ApiToken.objects.get().expires_at == datetime(after.year, after.month, after.day, tzinfo=UTC)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"scopes": []}, {"scopes": ["This field is required."]}),
        (
            {"scopes": ["everything"]},
            {"scopes": ["Select a valid choice. everything is not one of the available choices."]},
        ),
        ({"last_day": "2020-01-01"}, {"last_day": ["This day is over."]}),
        ({"last_day": "9999-12-31"}, {"last_day": [OUT_OF_REACH]}),
    ],
)
def test_what_is_wrong_with_a_token(owner: Client, change: dict[str, object], told: dict[str, list[str]]) -> None:
    assert errors(post(owner, "token-add", **({"name": "x", "scopes": ["places"]} | change))) == told
    assert not ApiToken.objects.exists()


def test_the_last_day_of_all_calendars_has_no_next() -> None:
    with pytest.raises(ValidationError, match=TOO_FAR):
        end_of(date.max)


def test_it_is_revoked(owner: Client, token: ApiToken) -> None:
    assert post(owner, "token-delete", token).url == "/tokens/"
    assert not ApiToken.objects.exists()


def test_tokens_of_others_are_neither_seen_nor_revoked(owner: Client) -> None:
    theirs = ApiToken.objects.create(organisation=make.OrganisationFactory(), name="their program", digest="x")
    assert "their program" not in text(get(owner, "tokens"))
    assert post(owner, "token-delete", theirs).status_code == 404
    assert ApiToken.objects.exists()
