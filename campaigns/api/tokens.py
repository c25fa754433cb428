"""Who is asking: a program with a token in the ``Authorization: Bearer`` header (RFC 6750). Sessions do not count.

REST framework's views import this module by way of the settings, so it must not import them.
"""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import AnonymousUser
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from campaigns.models import ApiToken, TokenScope
from campaigns.services.tokens import note_use

#: ``scope`` of a view that every valid token may read.
ANY = "any"


class TokenAuthentication(BaseAuthentication):
    """``request.auth`` is the token; ``request.user`` stays anonymous, because a program is not a person."""

    def authenticate(self, request: Request) -> tuple[AnonymousUser, ApiToken] | None:
        scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer":
            return None
        # Found by its hash: how long the look-up takes says nothing about the secret.
        token = ApiToken.objects.filter(digest=ApiToken.digest_of(secret.strip())).first()
        if token is None:
            raise AuthenticationFailed("There is no such token.")
        if token.expired:
            raise AuthenticationFailed("This token has expired.")
        note_use(token)
        return AnonymousUser(), token

    def authenticate_header(self, request: Request) -> str:
        tried = "Authorization" in request.headers
        return 'Bearer realm="Fanlight"' + (', error="invalid_token"' if tried else "")


class HasScope(BasePermission):
    """The view names the ``scope`` it needs. A view that names none is closed.

    A token that lacks the scope is told so (403): it learns something about itself only. What belongs to others is
    not refused but absent, which `access` sees to.
    """

    message = "This token has no scope for this."

    def has_permission(self, request: Request, view: Any) -> bool:
        if not isinstance(request.auth, ApiToken):
            return False
        wanted: Any = getattr(view, "scope", None)
        if wanted in TokenScope.values:
            self.message = f"This token lacks the scope “{TokenScope(wanted).value}” ({TokenScope(wanted).label})."
        return wanted == ANY or wanted in request.auth.scopes
