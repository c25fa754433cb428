"""How often a token may ask."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.settings import api_settings
from rest_framework.throttling import SimpleRateThrottle

from campaigns.models import ApiToken


class TokenThrottle(SimpleRateThrottle):
    """Counts per token, not per address: programs of one office share an address. FANLIGHT_API_RATE sets the rate.

    Who has no token is answered 401 before anything is counted.
    """

    scope = "token"

    def get_rate(self) -> str | None:
        rate = api_settings.DEFAULT_THROTTLE_RATES[self.scope]
        return None if rate is None else str(rate)

    def get_cache_key(self, request: Request, view: Any) -> str | None:
        if not isinstance(request.auth, ApiToken):
            return None
        return f"throttle-token-{request.auth.pk}"
