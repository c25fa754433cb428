"""Gives whoever is logged in the cookie that lets a large body be received, and takes it back."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase

from config.server.seats import COOKIE, has_seat, seat_for


class SeatCookies:
    """Stands right behind the sessions: it needs what they and the login have made of the request."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        key = request.session.session_key
        if key is None or not request.session.get("_auth_user_id"):
            if COOKIE in request.COOKIES:
                response.delete_cookie(COOKIE, samesite="Lax")
        elif response.streaming:
            pass  # files that came from outside bring nothing along
        elif request.session.modified or not has_seat(request.headers.get("Cookie", "")):
            response.set_cookie(
                COOKIE,
                seat_for(key),
                max_age=settings.SESSION_COOKIE_AGE,
                secure=settings.SESSION_COOKIE_SECURE,
                httponly=True,
                samesite="Lax",
            )
        return response
