"""How many answers may be made piece by piece at once.

Such an answer holds a thread until its reader has taken nearly all of it, so there are always threads left that make
none; and one caller does not take them from all others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from threading import Lock
from typing import Any

from django.http import FileResponse, HttpRequest, HttpResponseBase, JsonResponse, StreamingHttpResponse
from django.shortcuts import render

#: Seconds after which to ask again: by then a reader that takes nothing has been given up.
AGAIN_S = 30


class Slots:
    """Counts what runs. Safe among threads."""

    def __init__(self, at_once: int, of_one: int) -> None:
        self.at_once, self.of_one = at_once, of_one
        self._running: Counter[str] = Counter()
        self._lock = Lock()

    def take(self, caller: str) -> bool:
        with self._lock:
            if self._running.total() >= self.at_once or self._running[caller] >= self.of_one:
                return False
            self._running[caller] += 1
            return True

    def give_back(self, caller: str) -> None:
        with self._lock:
            self._running[caller] -= 1
            if not self._running[caller]:
                del self._running[caller]

    def __len__(self) -> int:
        return self._running.total()


#: Of this process. ``open_for`` fits it to the threads that serve.
PLACES = Slots(at_once=4, of_one=2)


def open_for(threads: int) -> None:
    """Half of the threads for streams, at least one; of those half for one caller."""
    PLACES.at_once = max(1, threads // 2)
    PLACES.of_one = max(1, threads // 4)


class HeldPlace:
    """The pieces of an answer, and its place, which is given back once: when they end or when they are closed."""

    def __init__(self, pieces: Iterator[bytes], places: Slots, caller: str) -> None:
        self._pieces, self._places, self._caller = pieces, places, caller
        self._held = True

    def __iter__(self) -> HeldPlace:
        return self

    def __next__(self) -> bytes:
        try:
            return next(self._pieces)
        except BaseException:
            self.close()
            raise

    def __del__(self) -> None:
        self.close()  # of an answer that nobody ever asked for

    def close(self) -> None:
        if self._held:
            self._held = False
            self._places.give_back(self._caller)


class StreamPlaces:
    """An answer that finds no place is 503 with Retry-After (RFC 9110, 15.6.4); nothing of it has been made by then."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        response = self.get_response(request)
        # A file is handed to the server as such and needs no thread.
        if not isinstance(response, StreamingHttpResponse) or isinstance(response, FileResponse):
            return response
        caller = caller_of(request)
        if not PLACES.take(caller):
            return _busy(request)  # the pieces have not been begun, so there is nothing to close
        held: Any = HeldPlace(iter(response), PLACES, caller)
        response.streaming_content = held
        return response


def caller_of(request: HttpRequest) -> str:
    """Whose stream it is: a token's, a person's, or an address'."""
    token = getattr(request, "auth", None)
    if token is not None:
        return f"token {token.pk}"
    if request.user.is_authenticated:
        return f"person {request.user.pk}"
    return f"address {request.META.get('REMOTE_ADDR', '')}"


def _busy(request: HttpRequest) -> HttpResponseBase:
    message = f"As many exports are running as can run at once. Try again in {AGAIN_S} seconds."
    if request.path.startswith("/api/"):
        answer: HttpResponseBase = JsonResponse({"detail": message}, status=503)
    else:
        answer = render(request, "503.html", {"title": "Busy", "message": message}, status=503)
    answer["Retry-After"] = str(AGAIN_S)
    return answer
