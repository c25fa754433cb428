"""Callers that stall hold no thread, and not for ever a connection."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from unittest.mock import patch

import pytest

from config.server import connections
from config.server.connections import PatientServer
from tests.config.server.running import ask, connected, is_closed, running

pytestmark = pytest.mark.timeout(60)

SOON = 0.5  # what a page may take meanwhile, s


@pytest.fixture
def impatient() -> Iterator[PatientServer]:
    """A server whose patience is short, so that a test need not wait half a minute."""
    with patch.multiple(connections, PATIENCE_S=2, HEAD_S=1), running() as server:
        yield server


def test_stalled_uploads_hold_no_thread() -> None:
    with running() as server, ExitStack() as stack:
        for _ in range(40):
            line = stack.enter_context(connected(server))
            line.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000\r\n\r\nhalf")
        status, said, took = ask(server, body=b"abc")
        assert (status, said) == (200, b"http 127.0.0.1 3")
        assert took < SOON


def test_half_a_head_is_given_up(impatient: PatientServer) -> None:
    with connected(impatient) as nothing, connected(impatient) as half:
        half.sendall(b"GET / HTTP/1.1\r\nHo")
        assert is_closed(half, 8)
        assert is_closed(nothing, 8)


def test_a_body_that_trickles_is_given_up(impatient: PatientServer) -> None:
    with connected(impatient) as line:
        line.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: 1000000\r\n\r\n")
        assert trickled(line, 15), "still received after fifteen seconds"


def trickled(line: socket.socket, seconds: float) -> bool:
    """Send a byte now and then. Whether the server ends the connection within so many seconds."""
    ended = time.monotonic() + seconds
    try:
        while time.monotonic() < ended:
            line.sendall(b"x")
            time.sleep(0.2)
    except OSError:
        return True
    return False


def test_a_reader_that_takes_nothing_gives_its_thread_back(impatient: PatientServer) -> None:
    with ExitStack() as stack:
        lines = [stack.enter_context(connected(impatient)) for _ in range(4)]
        for line in lines:
            line.sendall(b"GET /stream HTTP/1.1\r\nHost: localhost\r\n\r\n")
        time.sleep(1)
        assert ask(impatient)[0] == 200, "after the four threads were given back"
        assert all(is_closed(line, 8) for line in lines)


def test_a_slow_view_is_not_cut_off() -> None:
    def slow(environ: object, start_response: object) -> list[bytes]:
        time.sleep(4)
        start_response("200 OK", [("Content-Length", "4")])  # type: ignore[operator]
        return [b"done"]

    with patch.multiple(connections, PATIENCE_S=1, HEAD_S=1), running(app=slow) as server:
        assert ask(server)[1] == b"done"


def test_a_patient_reader_gets_all(impatient: PatientServer) -> None:
    with connected(impatient) as line:
        line.sendall(b"GET /stream HTTP/1.0\r\nHost: localhost\r\n\r\n")
        got = 0
        while piece := line.recv(1024 * 1024):
            got += len(piece)
            time.sleep(0.02)
    assert got > 64 * 1024 * 1024


def test_one_address_has_so_many_connections_and_no_more() -> None:
    with patch.object(PatientServer, "most_of_one", 5), running() as server, ExitStack() as stack:
        lines = [stack.enter_context(connected(server)) for _ in range(5)]
        assert is_closed(stack.enter_context(connected(server)), 5)
        for line in lines:
            line.close()
        time.sleep(0.3)
        assert ask(server)[0] == 200
