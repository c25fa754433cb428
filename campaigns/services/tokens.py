"""API tokens: made with a secret that is shown once, and noted when they are used. ``removal.remove`` revokes one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from django.core.exceptions import ValidationError
from django.db.models import Q
from django.utils import timezone

from campaigns.models import ApiToken, Organisation, TokenScope, User
from campaigns.services.records import save_new

OVER = "This day is over."
TOO_FAR = "This day is too far off. Leave it empty: then the token does not stop."
NO_SCOPE = "Say what the token may read."
NOTED_EVERY = timedelta(minutes=1)


@dataclass(frozen=True)
class MadeToken:
    """``secret``: what the program sends. It is kept nowhere: this is the only moment at which it can be read."""

    token: ApiToken
    secret: str


def make(
    organisation: Organisation, *, by: User, name: str, scopes: Iterable[str], last_day: date | None = None
) -> MadeToken:
    """A token that may read ``scopes``, until ``last_day`` in UTC is over (None: it does not stop).

    Raises ValidationError by field.
    """
    chosen = list(scopes)
    if not chosen or not set(chosen) <= set(TokenScope.values):
        raise ValidationError({"scopes": NO_SCOPE})
    try:
        ends = end_of(last_day)
    except ValidationError as over:
        raise ValidationError({"last_day": over}) from over
    token = ApiToken(organisation=organisation, made_by=by, name=name, scopes=chosen, expires_at=ends)
    secret = token.new_secret()
    return MadeToken(save_new(token), secret)


def end_those_of(person: User, organisation: Organisation) -> None:
    """Whoever plans here no more has seen the secrets of the tokens they made: these stop working now."""
    now = timezone.now()
    running = Q(expires_at__isnull=True) | Q(expires_at__gt=now)
    for token in ApiToken.objects.select_for_update().filter(running, made_by=person, organisation=organisation):
        token.expires_at = now
        token.save(update_fields=["expires_at"])  # not update(): the history hears of saves


def end_of(last_day: date | None) -> datetime | None:
    """The moment at which a token with this last day stops working. Raises ValidationError when that has passed, or
    lies beyond all calendars."""
    if last_day is None:
        return None
    if last_day == date.max:
        raise ValidationError(TOO_FAR)
    ends = datetime.combine(last_day + timedelta(days=1), time(), UTC)
    if ends <= timezone.now():
        raise ValidationError(OVER)
    return ends


def note_use(token: ApiToken) -> None:
    """Remember when the token was last used, at most once a minute: reading must not become writing."""
    now = timezone.now()
    if token.last_used_at is None or token.last_used_at <= now - NOTED_EVERY:
        stale = Q(last_used_at__isnull=True) | Q(last_used_at__lte=now - NOTED_EVERY)
        ApiToken.objects.filter(stale, pk=token.pk).update(last_used_at=now)
