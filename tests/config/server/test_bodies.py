"""How large a body may be depends on who says to be sending it, and is told before it is received."""

from __future__ import annotations

import uuid
from contextlib import suppress

import pytest
from django.conf import settings

from config.server.bodies import OF_ANYBODY, OF_PEOPLE, most
from config.server.seats import COOKIE, seat_for
from tests.config.server.running import ask, connected, running

UPLOADS = f"/campaigns/{uuid.uuid4()}/uploads/"


def cookies(session: str, seat: str) -> str:
    return f"{settings.SESSION_COOKIE_NAME}={session}; {COOKIE}={seat}"


def test_large_ones_are_for_people_who_have_logged_in() -> None:
    seated = cookies("abc", seat_for("abc"))
    assert most(UPLOADS, seated) > settings.UPLOAD_MAX_BYTES
    assert most("/sites/", seated) == OF_PEOPLE
    assert most(UPLOADS + "x", seated) == OF_PEOPLE


@pytest.mark.parametrize(
    "held",
    [
        "",
        cookies("abc", "abc"),
        cookies("abc", seat_for("another")),
        cookies("abc", seat_for("abc")[:-1]),
        f"{COOKIE}={seat_for('abc')}",
        '"; =;;; \x00 a=b',
    ],
    ids=("none", "not-signed", "of-another", "cut", "without-session", "no-cookie"),
)
def test_whoever_only_says_so_is_nobody(held: str) -> None:
    assert most(UPLOADS, held) == OF_ANYBODY


def test_a_body_too_large_is_refused_before_it_is_sent() -> None:
    with running() as server, connected(server) as line:
        line.sendall(f"POST / HTTP/1.1\r\nHost: localhost\r\nContent-Length: {2 * OF_ANYBODY}\r\n\r\n".encode())
        assert line.recv(1000).startswith(b"HTTP/1.1 413 ")


def test_one_without_a_length_is_cut_where_it_grows_too_large() -> None:
    sent = 0
    with running() as server, connected(server) as line:
        line.sendall(b"POST / HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n")
        with suppress(OSError):  # refused, and then closed: broken pipe or reset
            while sent < 64 * OF_ANYBODY:
                line.sendall(b"10000\r\n" + b"x" * 65536 + b"\r\n")
                sent += 65536
    assert OF_ANYBODY <= sent < 64 * OF_ANYBODY


def test_who_has_a_seat_is_heard() -> None:
    body = b"x" * (2 * OF_ANYBODY)
    with running() as server:
        status, said, _ = ask(server, "/", f"Cookie: {cookies('abc', seat_for('abc'))}", body=body)
    assert (status, said.split()[-1]) == (200, str(len(body)).encode())
