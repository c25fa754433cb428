"""What is noted of each request: an id that its lines share, a line for it, and what is counted of it."""

from __future__ import annotations

import re
import time
import uuid
from collections.abc import Callable, Iterator, Mapping
from typing import Any

import structlog
from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponseBase, StreamingHttpResponse
from structlog.contextvars import bind_contextvars, clear_contextvars

from config.metrics import count_request
from config.server.proxies import TOLD_BY_PROXY

HEADER = "X-Request-ID"
#: What a proxy may call a request: nothing that would break a line or fill the log.
SANE = re.compile(r"[A-Za-z0-9._-]{8,64}")
#: Requests that no route answers share a name: their paths are whatever somebody thought of.
NO_ROUTE, STATIC = "none", "static"

log = structlog.stdlib.get_logger("fanlight.access")


def id_of(environ: Mapping[str, Any]) -> str:
    """The proxy's, where it is one that is trusted and calls it something sane; otherwise a new one."""
    said = str(environ.get("HTTP_X_REQUEST_ID", ""))
    if environ.get(TOLD_BY_PROXY) and SANE.fullmatch(said):
        return said
    return uuid.uuid4().hex


class Noted:
    """One request, from when it came until the last piece of its answer has been taken."""

    def __init__(self, request: HttpRequest, request_id: str) -> None:
        self.request, self.request_id = request, request_id
        self._begun = time.perf_counter()

    def end(self, status: int, size: int) -> None:
        """size: bytes of the body."""
        seconds = time.perf_counter() - self._begun
        method, route = self.request.method or "", route_of(self.request)
        count_request(method, route, status, seconds)
        if settings.ACCESS_LOG:
            log.info(
                "request", method=method, route=route, status=status, ms=round(1000 * seconds, 1), bytes=size,
                by=caller_of(self.request), request=self.request_id,
            )  # fmt: skip


class CountedPieces:
    """The pieces of an answer. When they end or are closed, the request has ended."""

    def __init__(self, pieces: Iterator[bytes], noted: Noted, status: int) -> None:
        self._pieces, self._noted, self._status = pieces, noted, status
        self._bytes, self._open = 0, True

    def __iter__(self) -> CountedPieces:
        return self

    def __next__(self) -> bytes:
        try:
            piece = next(self._pieces)
        except BaseException:
            self.close()
            raise
        self._bytes += len(piece)
        return piece

    def close(self) -> None:
        if self._open:
            self._open = False
            self._noted.end(self._status, self._bytes)


class Requests:
    """Gives each request its id, and notes how it ended. What is asked of the process itself has been answered before
    it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        request_id = id_of(request.META)
        clear_contextvars()  # the thread has served others before
        bind_contextvars(request=request_id)
        noted = Noted(request, request_id)
        response = self.get_response(request)
        response[HEADER] = request_id
        if isinstance(response, StreamingHttpResponse) and not isinstance(response, FileResponse):
            pieces: Any = CountedPieces(iter(response), noted, response.status_code)
            response.streaming_content = pieces
        else:
            noted.end(response.status_code, _size_of(response))
        return response


def _size_of(response: HttpResponseBase) -> int:
    """A file is handed to the server, which sends what its header says."""
    if isinstance(response, StreamingHttpResponse):
        return int(response.headers.get("Content-Length", 0))
    return len(getattr(response, "content", b""))


def route_of(request: HttpRequest) -> str:
    """By its name, of which there are so many and no more; never by its path, which holds keys."""
    if request.resolver_match is not None:
        return request.resolver_match.view_name or NO_ROUTE
    return STATIC if request.path.startswith(settings.STATIC_URL) else NO_ROUTE


def caller_of(request: HttpRequest) -> str:
    """Whose request it was, by key and not by name. Nobody is looked up for it who was not looked up already."""
    token = getattr(request, "auth", None)
    if token is not None:
        return f"token:{token.key}"
    person = getattr(request, "_cached_user", None)
    if person is None or not person.is_authenticated:
        return "nobody"
    return f"person:{person.pk}"
