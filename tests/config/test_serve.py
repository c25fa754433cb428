"""``manage.py serve``: one command, a web process and its worker, which live and die together."""

from __future__ import annotations

import json
import os
import re
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any
from unittest.mock import patch
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

import pytest
from django.core.management import CommandError, call_command

from tests.config.starting import ROOT, environment, manage
from tests.database import Template
from tests.readings.doing import a_log

pytestmark = [
    pytest.mark.xdist_group("servers"),
    pytest.mark.slow,
    pytest.mark.timeout(240),
    pytest.mark.skipif(os.name != "posix", reason="signals and process tables as POSIX has them"),
]

PASSWORD = "a long enough word"
SET_UP = f"""
from datetime import date
from django.core.management import call_command
call_command("migrate", verbosity=0)
from campaigns.models import *
house = Organisation.objects.create(name="House")
user = User.objects.create_user("who@fanlight.example", {PASSWORD!r})
Membership.objects.create(user=user, organisation=house, role=Role.CONSULTANT)
site = Site.objects.create(organisation=house, name="Site", time_zone="Europe/Lisbon")
campaign = Campaign.objects.create(site=site, name="C", starts_on=date(2026, 9, 1), ends_on=date(2026, 9, 30))
kind = InstrumentType.objects.create(organisation=house, name="Meter")
ChannelSpec.objects.create(instrument_type=kind, parameter="formaldehyde", unit="ppm", resolution=0.001, range_high=5)
Instrument.objects.create(organisation=house, type=kind, name="meter N", serial="FL-7001")
print(campaign.key)
"""


def wait_until(true: Callable[[], Any], seconds: float = 60) -> Any:
    until = time.monotonic() + seconds
    while not (found := true()):
        assert time.monotonic() < until, f"not true after {seconds} s"
        time.sleep(0.1)
    return found


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def children_of(pid: int) -> list[int]:
    """Living children; a child that has ended and was not yet noticed is not living."""
    table = subprocess.run(["ps", "-A", "-o", "pid=,ppid=,stat="], capture_output=True, text=True, check=True).stdout
    rows = [line.split() for line in table.splitlines()]
    return [int(row[0]) for row in rows if int(row[1]) == pid and not row[2].startswith("Z")]


def is_running(pid: int) -> bool:
    table = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True).stdout.strip()
    return bool(table) and not table.startswith("Z")


class Served:
    """One ``manage.py serve`` and a browser for it."""

    def __init__(self, var: Path) -> None:
        self.root = f"http://127.0.0.1:{(port := free_port())}"
        self.output = (var / "serve.log").open("wb")
        command = [sys.executable, "manage.py", "serve", "--port", str(port), "--no-migrate"]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=environment(var), stdout=self.output, stderr=subprocess.STDOUT
        )
        self.open = build_opener(HTTPCookieProcessor(CookieJar())).open
        wait_until(self.answers)

    def answers(self) -> bool:
        assert self.process.poll() is None, "it ended by itself"
        try:
            return bool(self.open(f"{self.root}/health/", timeout=5).status == 200)
        except (URLError, OSError):
            return False

    def worker(self) -> int | None:
        """The child that runs the jobs."""
        found = children_of(self.process.pid)
        assert len(found) <= 1, "one worker, never two"
        return found[0] if found else None

    def page(self, path: str) -> str:
        return str(self.open(self.root + path, timeout=20).read().decode())

    def token(self, path: str) -> str:
        """What the form on the page sends along against forgery."""
        found = re.search(r'name="csrfmiddlewaretoken" value="([^"]+)"', self.page(path))
        assert found is not None
        return found[1]

    def log_in(self) -> None:
        fields = {
            "username": "who@fanlight.example",
            "password": PASSWORD,
            "csrfmiddlewaretoken": self.token("/login/"),
        }
        answer = self.open(Request(f"{self.root}/login/", urlencode(fields).encode()), timeout=20)
        assert "/login/" not in answer.url

    def hand_in(self, campaign: str, name: str, content: str) -> tuple[int, dict[str, str]]:
        """As the script of the page does it: multipart/form-data (RFC 7578), the answer in JSON."""
        path = f"/campaigns/{campaign}/uploads/"
        body = (
            f'--b\r\nContent-Disposition: form-data; name="csrfmiddlewaretoken"\r\n\r\n{self.token(path)}\r\n'
            f'--b\r\nContent-Disposition: form-data; name="file"; filename="{name}"\r\n\r\n{content}\r\n--b--\r\n'
        ).encode()
        headers = {"Content-Type": "multipart/form-data; boundary=b", "Accept": "application/json"}
        try:
            answer = self.open(Request(self.root + path, body, headers), timeout=30)
        except HTTPError as refused:
            answer = refused
        return answer.status, json.loads(answer.read())

    def end(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait(40)
        self.output.close()


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory, django_db_setup: Template) -> tuple[Path, str]:
    """A folder with a migrated database, and the key of a campaign in it."""
    var = tmp_path_factory.mktemp("var")
    if django_db_setup.is_file:
        django_db_setup.copy_file(var / "fanlight.sqlite3")  # to migrate it takes as long as all the rest
    done = manage(var, "shell", "--verbosity", "0", "-c", SET_UP)
    assert done.returncode == 0, done.stderr
    return var, done.stdout.split()[-1]


@pytest.fixture
def served(house: tuple[Path, str]) -> Iterator[Served]:
    served = Served(house[0])
    yield served
    served.end()


def test_pages_are_served_logs_are_read_and_a_worker_that_fell_comes_back(
    served: Served, house: tuple[Path, str]
) -> None:
    first = wait_until(served.worker)
    login = served.open(f"{served.root}/login/", timeout=20)
    assert login.headers["Server"] == "fanlight"
    assert "default-src 'self'" in login.headers["Content-Security-Policy"]
    assert len(served.open(f"{served.root}/static/plotly/plotly.min.js", timeout=20).read()) > 1_000_000
    served.log_in()
    status, answer = served.hand_in(house[1], "monday.csv", a_log([0.031, 0.032], serial="FL-7001"))
    assert status == 201, answer
    wait_until(lambda: "2 readings stored." in served.page(answer["url"]))
    assert served.hand_in(house[1], "again.csv", a_log([0.031, 0.032], serial="FL-7001"))[0] == 409

    os.kill(first, signal.SIGKILL)
    second = wait_until(lambda: (pid := served.worker()) and pid != first and pid)
    assert served.answers()
    status, answer = served.hand_in(house[1], "tuesday.csv", a_log([0.033], serial="FL-7001") + "\n")
    wait_until(lambda: "1 problem." in served.page(answer["url"]) or "already held" in served.page(answer["url"]))

    served.process.send_signal(signal.SIGTERM)
    assert served.process.wait(40) == 0, "a polite end is no failure"
    wait_until(lambda: not is_running(second), 5)
    assert "Stopped." in (house[0] / "serve.log").read_text()


def test_a_port_that_is_taken_is_said_before_anything_is_started() -> None:
    with socket.socket() as taken, patch("config.management.commands.serve.EmbeddedWorker") as worker:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        before = signal.getsignal(signal.SIGTERM)
        try:
            with pytest.raises(CommandError, match=rf"127.0.0.1:{port} cannot be used .* Name another with --port"):
                call_command("serve", port=port, no_migrate=True)
        finally:
            signal.signal(signal.SIGTERM, before)
        assert not worker.called


def test_a_worker_does_not_outlive_a_web_process_that_was_killed(served: Served) -> None:
    worker = wait_until(served.worker)
    os.kill(served.process.pid, signal.SIGKILL)
    served.process.wait(10)
    wait_until(lambda: not is_running(worker))
