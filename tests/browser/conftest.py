"""A whole Fanlight as a user starts it - ``manage.py demo`` in its own process - and a real Chromium before it."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.error import URLError
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from demo.scenario import PASSWORD
from tests.browser.chromium import ARGS, CHROMIUM
from tests.conftest import skip_unless

ROOT = Path(__file__).resolve().parents[2]
START_S = 60


@dataclass(frozen=True)
class BrowsedHouse:
    """A running demo: its address and what it printed while starting."""

    url: str
    seconds: float


@pytest.fixture(scope="session")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowsedHouse]:
    skip_unless(CHROMIUM is not None, "browser", "no Chromium is installed")
    if running := os.environ.get("FANLIGHT_HOUSE"):  # while writing tests: a demo that runs already
        yield BrowsedHouse(running, 0.0)
        return
    var = tmp_path_factory.mktemp("house")
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    env = {**os.environ, "FANLIGHT_VAR": str(var), "FANLIGHT_QUEUE": f"house-{port}", "FANLIGHT_JOB_RESEND": "2"}
    env |= {"DATABASE_URL": own_database(port), "FANLIGHT_LOG_LEVEL": "WARNING"}
    command = [sys.executable, "manage.py", "demo", "--port", str(port), "--worker", "yes"]
    started = time.monotonic()
    with (var / "log").open("wb") as log:
        process = subprocess.Popen(command, cwd=ROOT, env=env, stdout=log, stderr=log)
        try:
            wait_for(f"http://127.0.0.1:{port}/ready/?of=database", process, var / "log")
            yield BrowsedHouse(f"http://127.0.0.1:{port}", time.monotonic() - started)
        finally:
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(30)
            except subprocess.TimeoutExpired:
                process.kill()


def own_database(port: int) -> str:
    """On PostgreSQL a database beside the test's one; otherwise nothing, which is SQLite in the house's own folder."""
    url = os.environ.get("DATABASE_URL", "")
    if not url.startswith("postgres"):
        return ""
    import psycopg

    name = f"fanlight_house_{port}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'DROP DATABASE IF EXISTS "{name}"')
        server.execute(f'CREATE DATABASE "{name}"')
    return urlsplit(url)._replace(path=f"/{name}").geturl()


def wait_for(url: str, process: subprocess.Popen[bytes], log: Path) -> None:
    until = time.monotonic() + START_S
    while time.monotonic() < until:
        if process.poll() is not None:
            break
        try:
            with urllib.request.urlopen(url, timeout=2) as answer:
                if answer.status == 200:
                    return
        except (URLError, OSError):
            time.sleep(0.2)
    raise AssertionError(f"the demo did not answer within {START_S} s:\n{log.read_text()[-3000:]}")


@pytest.fixture(scope="module")
def browser(house: BrowsedHouse) -> Iterator[Browser]:
    # Module by module: while it is open its event loop would forbid the database to other tests of this process.
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGS)
        yield opened
        opened.close()


Enter = Callable[..., Page]


@pytest.fixture
def enter(house: BrowsedHouse, browser: Browser) -> Iterator[Enter]:
    """``enter("odalys@…")``: a page logged in as that person. What the page complains about fails the test."""
    contexts, complaints = [], []

    def as_(email: str | None, width: int = 1280, height: int = 900, **more: object) -> Page:
        context = browser.new_context(
            base_url=house.url,
            viewport={"width": width, "height": height},
            **more,  # type: ignore[arg-type]
        )
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(15_000)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on(
            "console", lambda said: complaints.append(said.text) if "Content Security Policy" in said.text else None
        )
        if email is not None:
            page.goto("/login/")
            page.get_by_label("e-mail address", exact=False).fill(email)
            page.get_by_label("Password", exact=False).fill(PASSWORD)
            page.get_by_role("button", name="Log in").click()
            page.wait_for_url(lambda url: "/login/" not in url)
        return page

    yield as_
    for context in contexts:
        context.close()
    assert complaints == []
