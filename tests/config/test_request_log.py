"""Each request has an id that its lines share, and a line of its own that tells who, what and how long."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from typing import Any
from unittest.mock import patch

import pytest
from django.conf import LazySettings, settings
from django.http import HttpRequest, HttpResponse
from django.test import Client

from campaigns.models import ApiToken, Site, User
from config import request_log
from config.request_log import HEADER, Requests, id_of
from config.server.proxies import TOLD_BY_PROXY, network
from tests import factories as make
from tests.config.server.running import connected, running

SET_BY_US = re.compile(r"[0-9a-f]{32}")
Lines = list[dict[str, Any]]


@pytest.fixture
def lines() -> Iterator[Lines]:
    """What was noted of each request."""
    noted: Lines = []
    with patch.object(request_log.log, "info", lambda event, **said: noted.append(said)):
        yield noted


class TestIds:
    @pytest.mark.parametrize("said", ["0f8fad5b-d9cb-469f-a165-70867728950e", "a" * 64, "proxy.17_x"])
    def test_a_trusted_proxy_may_say_it(self, said: str) -> None:
        assert id_of({"HTTP_X_REQUEST_ID": said, TOLD_BY_PROXY: True}) == said

    @pytest.mark.parametrize(
        "said", ["", "short", "a" * 65, "with space in it", "line\nend-of-it", "id=\x1b[2Jxxxx", "é" * 9]
    )
    def test_but_nothing_that_would_spoil_the_log(self, said: str) -> None:
        assert SET_BY_US.fullmatch(id_of({"HTTP_X_REQUEST_ID": said, TOLD_BY_PROXY: True}))

    def test_nobody_else_may(self) -> None:
        for environ in ({}, {TOLD_BY_PROXY: False}, {"HTTP_FANLIGHT_TOLD_BY_PROXY": "True"}):
            assert SET_BY_US.fullmatch(id_of({"HTTP_X_REQUEST_ID": "0f8fad5b-d9cb", **environ}))

    @pytest.mark.parametrize(("proxies", "believed"), [(["127.0.0.0/8"], True), (["10.0.0.0/8"], False)])
    def test_the_server_knows_who_is_one(self, proxies: list[str], believed: bool) -> None:
        lines = ("GET / HTTP/1.1", "Host: localhost", "Connection: close", "X-Request-ID: 0f8fad5b-d9cb", "", "")
        seen: list[str] = []

        def app(environ: dict[str, Any], start: Any) -> Any:
            seen.append(id_of(environ))
            start("200 OK", [])
            return [b""]

        with (
            patch.object(settings, "PROXIES", [network(text) for text in proxies]),
            running(app=app) as server,
            connected(server) as line,
        ):
            line.sendall("\r\n".join(lines).encode())
            while line.recv(4096):
                pass
        assert (seen == ["0f8fad5b-d9cb"]) is believed

    @pytest.mark.django_db
    def test_every_answer_tells_its_own(self, client: Client) -> None:
        ids = {client.get(path)[HEADER] for path in ("/login/", "/nowhere/", "/api/v1/", "/campaigns/")}
        assert len(ids) == 4
        assert all(SET_BY_US.fullmatch(one) for one in ids)

    def test_what_is_logged_meanwhile_has_it(self) -> None:
        import structlog

        seen: list[Any] = []

        def view(request: HttpRequest) -> HttpResponse:
            seen.append(structlog.contextvars.get_contextvars()["request"])
            return HttpResponse()

        answers = [Requests(view)(HttpRequest()) for _ in range(2)]
        assert seen == [answer[HEADER] for answer in answers]
        assert seen[0] != seen[1]


@pytest.mark.django_db
class TestAccessLines:
    def test_of_a_person(self, browse: Any, consultant: User, site: Site, lines: Lines) -> None:
        answer = browse(consultant).get(f"/sites/{site.key}/?q=private")
        (said,) = lines
        assert (said["method"], said["route"], said["status"]) == ("GET", "site", 200)
        assert said["by"] == f"person:{consultant.pk}"
        assert said["bytes"] == len(answer.content)
        assert said["ms"] > 0
        assert said["request"] == answer[HEADER]
        text = repr(said)
        assert str(site.key) not in text, "a route, not a path"
        assert "private" not in text
        assert consultant.email not in text

    def test_of_a_program(self, client: Client, token: ApiToken, lines: Lines) -> None:
        secret = token.secret  # type: ignore[attr-defined]
        client.get("/api/v1/", headers={"Authorization": f"Bearer {secret}"})
        assert lines[0]["by"] == f"token:{token.key}"
        assert (lines[0]["route"], lines[0]["status"]) == ("api-root", 200)
        assert secret not in repr(lines)

    def test_of_nobody(self, client: Client, lines: Lines) -> None:
        client.get("/password/set/MQ/a-link-that-opens/")
        client.get("/nowhere/")
        assert [(said["route"], said["by"]) for said in lines] == [("password-set", "nobody"), ("none", "nobody")]
        assert "a-link-that-opens" not in repr(lines)

    def test_of_a_stream_when_its_last_piece_was_taken(
        self, client: Client, token: ApiToken, site: Site, lines: Lines
    ) -> None:
        secret, campaign = token.secret, make.CampaignFactory.create(site=site)  # type: ignore[attr-defined]
        path = f"/api/v1/readings/?format=csv&campaign={campaign.key}"
        answer: Any = client.get(path, headers={"Authorization": f"Bearer {secret}"})
        assert (answer.status_code, answer.streaming) == (200, True)
        assert lines == []
        size = len(b"".join(answer.streaming_content))
        assert [(said["route"], said["bytes"]) for said in lines] == [("api-reading-list", size)]
        answer.close()
        assert len(lines) == 1, "noted once"

    def test_none_of_what_is_asked_of_the_process_itself(self, client: Client, lines: Lines) -> None:
        client.get("/health/")
        client.get("/ready/?of=database")
        assert lines == []

    def test_none_where_they_are_switched_off(self, client: Client, lines: Lines, settings: LazySettings) -> None:
        settings.ACCESS_LOG = False
        client.get("/login/")
        assert lines == []

    def test_nobody_is_looked_up_for_it(
        self, client: Client, settings: LazySettings, django_assert_num_queries: Any
    ) -> None:
        settings.ACCESS_LOG = True
        with django_assert_num_queries(0):
            client.get("/nowhere.txt/")


@pytest.mark.django_db
def test_it_is_written_where_the_rest_is(client: Client, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.INFO, "fanlight.access"):
        client.get("/login/")
    (record,) = [record for record in caplog.records if record.name == "fanlight.access"]
    assert record.msg["route"] == "login"  # type: ignore[index]
