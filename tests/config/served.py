"""``manage.py serve`` in a process of its own, and a browser for it."""

from __future__ import annotations

import json
import re
import socket
import subprocess
import sys
import time
from collections.abc import Callable
from http.cookiejar import CookieJar
from pathlib import Path
from typing import Any
from urllib.error import HTTPError, URLError
from urllib.parse import urlencode
from urllib.request import HTTPCookieProcessor, Request, build_opener

from tests.config.starting import ROOT, environment, manage
from tests.database import Template

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

    def __init__(self, var: Path, **more: str) -> None:
        self.port = free_port()
        self.root = f"http://127.0.0.1:{self.port}"
        self.output = (var / "serve.log").open("wb")
        command = [sys.executable, "manage.py", "serve", "--port", str(self.port), "--no-migrate"]
        self.process = subprocess.Popen(
            command, cwd=ROOT, env=environment(var, **more), stdout=self.output, stderr=subprocess.STDOUT
        )
        self.open = build_opener(HTTPCookieProcessor(CookieJar())).open
        wait_until(self.answers)

    def answers(self) -> bool:
        assert self.process.poll() is None, "it ended by itself"
        try:
            return bool(self.open(f"{self.root}/ready/?of=database", timeout=5).status == 200)
        except (URLError, OSError):
            return False

    def is_ready(self, of: str) -> bool:
        """of: names of parts; "" for all."""
        try:
            return bool(self.open(f"{self.root}/ready/?of={of}", timeout=10).status == 200)
        except HTTPError as refused:
            if refused.code != 503:
                raise
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


def a_house(var: Path, database: Template) -> str:
    """A migrated database in ``var``, and the key of a campaign in it."""
    if database.is_file:
        database.copy_file(var / "fanlight.sqlite3")  # to migrate it takes as long as all the rest
    done = manage(var, "shell", "--verbosity", "0", "-c", SET_UP)
    assert done.returncode == 0, done.stderr
    return done.stdout.split()[-1]
