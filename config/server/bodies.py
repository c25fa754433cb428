"""How large a body may be, decided when the head of a request has come and nothing else has."""

from __future__ import annotations

import re
from copy import copy
from typing import Any

from django.conf import settings
from waitress.parser import HTTPRequestParser

from config.server.seats import has_seat

#: A login, a form, a question of a program.
OF_ANYBODY = 1024 * 1024
#: Plan images and lists of rooms.
OF_PEOPLE = 64 * 1024 * 1024
#: Where logs are handed in.
UPLOADS = re.compile(r"/campaigns/[0-9a-f-]{36}/uploads/")


def most(path: str, cookies: str) -> int:
    """Bytes that the body of a request may have. Large ones only for whoever has logged in: they are kept in files
    while they come. Where logs are handed in it is far above what is taken, so that too large a log gets our answer
    and not a bare status line."""
    if not has_seat(cookies):
        return OF_ANYBODY
    if UPLOADS.fullmatch(path):
        return max(2 * 1024**3, 2 * settings.UPLOAD_MAX_BYTES)
    return OF_PEOPLE


class MeasuredRequest(HTTPRequestParser):  # type: ignore[misc]  # waitress tells no types
    """A request whose limit is that of its own head."""

    def parse_header(self, header_plus: bytes) -> None:
        super().parse_header(header_plus)
        self.adj: Any = copy(self.adj)
        self.adj.max_request_body_size = most(self.path, self.headers.get("COOKIE", ""))
