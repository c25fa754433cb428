"""Who is logged in, told without asking the database: a cookie beside that of the session, signed by us.

It opens no page. It only lets a large body be received at all, which the server decides before any view runs.
"""

from __future__ import annotations

from http.cookies import CookieError, SimpleCookie

from django.conf import settings
from django.core import signing
from django.utils.crypto import salted_hmac

COOKIE = "fanlight_seat"
SALT = "config.server.seats"


def seat_for(session_key: str) -> str:
    """The cookie's value for a session that is logged in."""
    return signing.TimestampSigner(salt=SALT).sign(_folded(session_key))


def has_seat(cookies: str) -> bool:
    """Whether a Cookie header (RFC 6265) holds a session and our word, not older than a session, that it is one."""
    try:
        held = SimpleCookie(cookies)
    except CookieError:
        return False
    if COOKIE not in held or settings.SESSION_COOKIE_NAME not in held:
        return False
    try:
        said = signing.TimestampSigner(salt=SALT).unsign(held[COOKIE].value, max_age=settings.SESSION_COOKIE_AGE)
    except signing.BadSignature:
        return False
    return said == _folded(held[settings.SESSION_COOKIE_NAME].value)


def _folded(session_key: str) -> str:
    return salted_hmac(SALT, session_key, algorithm="sha256").hexdigest()[:32]
