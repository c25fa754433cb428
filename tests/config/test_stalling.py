"""Readers that take nothing and uploads that do not come, all at once, before the server as it is started."""

from __future__ import annotations

import os
import socket
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.config.served import Served, a_house, wait_until
from tests.config.starting import manage
from tests.database import Template
from tests.readings.doing import a_log

pytestmark = [
    pytest.mark.xdist_group("servers"),
    pytest.mark.slow,
    pytest.mark.timeout(240),
    pytest.mark.skipif(os.name != "posix", reason="it is started as on POSIX"),
]

READERS, SENDERS, PROGRAMS, ROWS = 50, 20, 10, 150_000
SOON = 0.5  # s
TOKENS = f"""
from campaigns.models import *
house = Organisation.objects.get(name="House")
for n in range({PROGRAMS}):
    token = ApiToken(organisation=house, name=f"program {{n}}", scopes=list(TokenScope))
    secret = token.new_secret()
    token.save()
    print(secret)
"""


@pytest.fixture
def served(tmp_path: Path, django_db_setup: Template) -> Iterator[tuple[Served, str, list[str]]]:
    campaign = a_house(tmp_path, django_db_setup)
    done = manage(tmp_path, "shell", "--verbosity", "0", "-c", TOKENS)
    assert done.returncode == 0, done.stderr
    served = Served(tmp_path)
    yield served, campaign, done.stdout.split()
    served.end()


def stalled(served: Served, head: str) -> socket.socket:
    """A connection that sends ``head`` and then neither sends nor takes anything."""
    line = socket.socket()
    line.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
    line.connect(("127.0.0.1", urlsplit(served.root).port))
    line.sendall(head.encode())
    return line


def took(served: Served, path: str) -> float:
    started = time.monotonic()
    assert served.open(served.root + path, timeout=20).status == 200
    return time.monotonic() - started


def test_health_and_pages_are_served_meanwhile(served: tuple[Served, str, list[str]]) -> None:
    server, campaign, secrets = served
    server.log_in()
    values = [f"0.0{30 + n % 9}" for n in range(ROWS)]
    status, answer = server.hand_in(campaign, "long.csv", a_log(values, serial="FL-7001"))
    assert status == 201, answer
    wait_until(lambda: "150,000 readings stored" in server.page(answer["url"]).replace("\u00a0", ","), 120)
    with ExitStack() as stack:
        readers = []
        for n in range(READERS):
            head = f"GET /api/v1/readings/?campaign={campaign} HTTP/1.1\r\nHost: localhost\r\n"
            head += f"Accept: text/csv\r\nAuthorization: Bearer {secrets[n % PROGRAMS]}\r\n\r\n"
            readers.append(stack.enter_context(stalled(server, head)))
        for _ in range(SENDERS):
            head = (
                f"POST /campaigns/{campaign}/uploads/ HTTP/1.1\r\nHost: localhost\r\nContent-Length: 900000\r\n\r\nhalf"
            )
            stack.enter_context(stalled(server, head))
        time.sleep(5)  # until what can be ready is
        slowest = max(took(server, path) for path in ("/health/", "/login/", "/campaigns/") * 5)
        begun = Counter(line.recv(12).decode()[-3:] for line in readers)
    assert slowest < SOON
    assert begun["200"] >= 8, begun
    assert begun["200"] + begun["503"] == READERS, "the others are told to come again"
