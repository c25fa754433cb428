"""Answers that are made piece by piece never take all threads, and one caller not those of all others."""

from __future__ import annotations

from collections.abc import Iterator
from types import SimpleNamespace
from unittest.mock import patch

import pytest
from django.contrib.auth.models import AnonymousUser
from django.http import FileResponse, HttpResponse, HttpResponseBase, StreamingHttpResponse
from django.test import RequestFactory

from config.server import streams
from config.server.streams import AGAIN_S, Slots, StreamPlaces, open_for

#: An answer that ends looks after the connections that other tests have opened.
pytestmark = pytest.mark.django_db


@pytest.fixture
def places() -> Iterator[Slots]:
    with patch.object(streams, "PLACES", Slots(at_once=3, of_one=2)) as places:
        yield places


def ask(path: str = "/api/v1/readings/", address: str = "192.0.2.1", token: int | None = None) -> HttpResponseBase:
    request = RequestFactory().get(path, REMOTE_ADDR=address)
    request.user = AnonymousUser()
    if token is not None:
        request.auth = SimpleNamespace(pk=token)  # type: ignore[attr-defined]
    return StreamPlaces(lambda request: StreamingHttpResponse(iter(["a", "b"])))(request)


def test_a_place_is_given_back_when_all_was_taken(places: Slots) -> None:
    answer = ask()
    assert len(places) == 1
    assert isinstance(answer, StreamingHttpResponse)
    assert b"".join(answer.streaming_content) == b"ab"  # type: ignore[arg-type]
    assert len(places) == 0


def test_and_when_the_reader_has_gone(places: Slots) -> None:
    answer = ask()
    answer.close()
    answer.close()
    assert len(places) == 0


def test_and_when_making_it_fails(places: Slots) -> None:
    def broken() -> Iterator[str]:
        yield "a"
        raise ArithmeticError

    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    answer = StreamPlaces(lambda request: StreamingHttpResponse(broken()))(request)
    assert isinstance(answer, StreamingHttpResponse)
    with pytest.raises(ArithmeticError):
        list(answer)
    assert len(places) == 0


def test_one_caller_leaves_places_to_others(places: Slots) -> None:
    assert [ask(token=1).status_code for _ in range(3)] == [200, 200, 503]
    assert ask(token=2).status_code == 200
    refused = ask(token=3)
    assert refused.status_code == 503, "all are taken"
    assert refused["Retry-After"] == str(AGAIN_S)
    assert b"as can run at once" in refused.content  # type: ignore[attr-defined]


def test_people_get_a_page(places: Slots) -> None:
    with patch.object(places, "at_once", 0):
        answer = ask("/zones/readings/")
    assert answer["Content-Type"].startswith("text/html")
    assert b"Try again in 30 seconds" in answer.content  # type: ignore[attr-defined]


def test_files_and_pages_need_none(places: Slots) -> None:
    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    with open(__file__, "rb") as file:
        StreamPlaces(lambda request: FileResponse(file))(request)
        StreamPlaces(lambda request: HttpResponse("page"))(request)
        assert len(places) == 0


@pytest.mark.parametrize("threads", [1, 2, 4, 16])
def test_there_are_always_threads_left(threads: int) -> None:
    with patch.object(streams, "PLACES", Slots(1, 1)) as places:
        open_for(threads)
    assert 1 <= places.of_one <= places.at_once
    assert places.at_once < threads or threads == 1
