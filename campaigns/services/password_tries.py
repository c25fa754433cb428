"""A brake on guessing passwords: at the door, where an old password is asked for, and where a report is signed.

A try is counted before the password is looked at, because that alone costs a fifth of a second of a processor. So many
wrong ones of one account, and so many from one host, are allowed in a while; what is refused for that is not counted,
so whoever waits gets in again.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from ipaddress import IPv6Address, ip_address

from django.conf import settings
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.crypto import salted_hmac

from campaigns.models import PasswordTry, User
from campaigns.models.addresses import normal_address

TOO_MANY, WRONG = "too-many", "wrong-password"
NETWORK = 64  # bits of an IPv6 address that a customer has one of; the rest is theirs to choose from (RFC 6177)


def begin(address: str, host: str) -> PasswordTry:
    """Count a try for the account of this e-mail address. Raises ValidationError when there were too many."""
    now = timezone.now()
    since = now - timedelta(minutes=settings.PASSWORD_TRIES_MINUTES)
    PasswordTry.objects.filter(at__lte=since).delete()
    account = salted_hmac("campaigns.password_tries", normal_address(address), algorithm="sha256").hexdigest()
    begun = PasswordTry.objects.create(account=account, host=host_known_by(host), at=now)
    recent = PasswordTry.objects.exclude(pk=begun.pk)
    free = [
        _free_at(recent.filter(account=begun.account), settings.PASSWORD_TRIES_PER_ACCOUNT),
        _free_at(recent.filter(host=begun.host), settings.PASSWORD_TRIES_PER_HOST),
    ]
    if waits := [at for at in free if at is not None]:
        begun.delete()
        raise ValidationError(_said(max(waits), now), code=TOO_MANY)
    return begun


def was_right(begun: PasswordTry) -> None:
    """Wrong ones of the account are forgotten; those of the host are not, or one's own account would open the way to
    guessing those of others."""
    PasswordTry.objects.filter(account=begun.account).delete()


def prove(user: User, password: str, host: str) -> None:
    """That it is the person who is logged in. Raises ValidationError unless the password is theirs."""
    begun = begin(user.email, host)
    if not user.check_password(password):
        raise ValidationError("This is not your password.", code=WRONG)
    was_right(begun)


def host_known_by(host: str) -> str:
    """What tries from this address are counted by: an IPv6 network, or the address itself."""
    try:
        known = ip_address(host)
    except ValueError:  # a socket of this machine
        return host[:64]
    if isinstance(known, IPv6Address):
        inner = known.ipv4_mapped
        return str(inner) if inner else str(IPv6Address(int(known) >> (128 - NETWORK) << (128 - NETWORK)))
    return str(known)


def _free_at(tries: QuerySet[PasswordTry], allowed: int) -> datetime | None:
    """When there are fewer than ``allowed`` again; None when there are. 0 allows any number."""
    if not allowed:
        return None
    newest = list(tries.order_by("-at").values_list("at", flat=True)[:allowed])
    return newest[-1] + timedelta(minutes=settings.PASSWORD_TRIES_MINUTES) if len(newest) == allowed else None


def _said(until: datetime, now: datetime) -> str:
    minutes = max(1, -int((now - until).total_seconds() // 60))
    wait = "a minute" if minutes == 1 else f"{minutes} minutes"
    # Rounded up: whoever comes at the minute that is named gets in.
    at = until + timedelta(minutes=1)
    return f"Too many wrong passwords. Try again in {wait}, at {at:%H:%M} UTC."
