"""docker-compose.yml without Docker: the file is read as Docker reads it, and its commands are started as processes.

They get its environment, against the PostgreSQL and the Redis of this machine, and its health checks are asked.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import time
import uuid
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any
from urllib.error import URLError
from urllib.parse import urlsplit
from urllib.request import urlopen

import psycopg
import pytest
import yaml

from tests.config.served import free_port, wait_until
from tests.config.starting import ROOT, environment, settings_with
from tests.conftest import skip_unless

OURS = ("web", "worker", "beat")
PASSWORD = "p@ss:w/rd#1%25 $x"
ENV = {
    "FANLIGHT_SECRET_KEY": "k" * 50,
    "POSTGRES_PASSWORD": PASSWORD,
    "FANLIGHT_HOSTS": "air.example",
    "FANLIGHT_HTTPS": "yes",
    "FANLIGHT_UPLOAD_MAX_MB": "7",
}


def composed() -> dict[str, Any]:
    read: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
    return read["services"]  # type: ignore[no-any-return]


def filled(text: str) -> str:
    """Variables as Compose fills them in: ${NAME}, ${NAME:-default}, ${NAME:?why}; $$ is a dollar."""

    def value(found: re.Match[str]) -> str:
        name, rule, rest = found["name"], found["rule"], found["rest"]
        if held := ENV.get(name):
            return held
        assert rule != ":?", f"{name} is needed: {rest}"
        return rest or ""

    filled = re.sub(r"(?<!\$)\$\{(?P<name>\w+)(?P<rule>:[-?])?(?P<rest>[^}]*)\}", value, text)
    return filled.replace("$$", "$")


def variables(service: dict[str, Any]) -> dict[str, str]:
    """What reaches the container: the whole .env, and above it what the file sets."""
    assert service["env_file"] == ".env"
    return ENV | {name: filled(str(value)) for name, value in service["environment"].items()}


@pytest.mark.parametrize("name", OURS)
def test_every_variable_of_the_example_reaches_it(name: str, tmp_path: Path) -> None:
    told = variables(composed()[name]) | {"FANLIGHT_VAR": str(tmp_path)}
    found = settings_with(tmp_path, **{key: value for key, value in told.items() if key != "FANLIGHT_VAR"})
    assert found["DATABASES"]["default"]["PASSWORD"] == PASSWORD, "whatever characters it has"
    assert found["UPLOAD_MAX_BYTES"] == 7 * 1024 * 1024
    assert found["ALLOWED_HOSTS"] == ["air.example"]


@pytest.mark.parametrize("name", OURS)
def test_it_may_do_no_more_than_it_has_to(name: str) -> None:
    service = composed()[name]
    assert service["read_only"] is True
    assert service["cap_drop"] == ["ALL"]
    assert service["security_opt"] == ["no-new-privileges:true"]
    assert service["mem_limit"]


def test_nothing_but_the_pages_is_on_a_port_and_those_on_this_host_only() -> None:
    ports = {name: service["ports"] for name, service in composed().items() if "ports" in service}
    assert {name: [filled(port) for port in given] for name, given in ports.items()} == {"web": ["127.0.0.1:8000:8000"]}


class Stack:
    """The three services, started one after the other as ``depends_on`` says."""

    def __init__(self, folder: Path, database: str, redis_url: str) -> None:
        self.folder, self.port, self.queue = folder, free_port(), f"compose-{uuid.uuid4().hex[:8]}"
        self.database, self.redis_url = database, redis_url
        self.scratch = folder / "tmp"
        self.scratch.mkdir()
        self.running: list[subprocess.Popen[bytes]] = []

    def here(self, text: str) -> str:
        """What is called otherwise in the network and the file system of the containers."""
        changes = {
            "python": sys.executable,
            "celery": str(Path(sys.executable).with_name("celery")),
            "0.0.0.0": "127.0.0.1",
            "--worker no": f"--worker no --port {self.port}",
            "127.0.0.1:8000": f"127.0.0.1:{self.port}",
            "/tmp": str(self.scratch),
        }
        for said, ours in changes.items():
            # A word of its own, or an address.
            text = re.sub(rf"(?<![\w.]){re.escape(said)}(?![\w.@])", lambda _: ours, text)  # noqa: B023 - used at once
        return text

    def environment(self, service: dict[str, Any]) -> dict[str, str]:
        told = variables(service) | {
            "FANLIGHT_VAR": str(self.folder), "DATABASE_URL": self.database, "REDIS_URL": self.redis_url,
            "FANLIGHT_QUEUE": self.queue, "FANLIGHT_MANIFEST": "no", "HOSTNAME": os.uname().nodename,
        }  # fmt: skip
        var = Path(told.pop("FANLIGHT_VAR"))
        return environment(var, **told)

    def start(self, name: str) -> None:
        service = composed()[name]
        command = self.here(filled(service["command"])).split()
        with (self.folder / f"{name}.log").open("wb") as log:
            self.running.append(
                subprocess.Popen(command, cwd=ROOT, env=self.environment(service), stdout=log, stderr=log)
            )

    def is_well(self, name: str) -> bool:
        service = composed()[name]
        kind, *words = [filled(word) for word in service["healthcheck"]["test"]]
        words = [self.here(word) for word in words]
        command = words if kind == "CMD" else ["sh", "-c", words[0]]
        done = subprocess.run(command, cwd=ROOT, env=self.environment(service), capture_output=True, timeout=60)
        return done.returncode == 0

    def is_ready(self) -> bool:
        """Everything, the worker that has nothing to do included."""
        try:
            with urlopen(f"http://127.0.0.1:{self.port}/ready/", timeout=10) as answer:
                return bool(answer.status == 200)
        except URLError:
            return False

    def end(self) -> None:
        for process in reversed(self.running):
            process.terminate()
        for process in self.running:
            try:
                process.wait(20)
            except subprocess.TimeoutExpired:
                process.kill()


@pytest.fixture
def stack(tmp_path: Path, redis_url: str) -> Iterator[Stack]:
    url = os.environ.get("DATABASE_URL", "")
    skip_unless(url.startswith("postgres"), "postgresql", "DATABASE_URL names no PostgreSQL")
    name = f"fanlight_compose_{uuid.uuid4().hex[:8]}"
    with psycopg.connect(url, autocommit=True) as server:
        server.execute(f'CREATE DATABASE "{name}"')
    stack = Stack(tmp_path, urlsplit(url)._replace(path=f"/{name}").geturl(), redis_url)
    try:
        yield stack
    finally:
        stack.end()
        with psycopg.connect(url, autocommit=True) as server:
            server.execute(f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.mark.slow
@pytest.mark.timeout(300)
@pytest.mark.xdist_group("servers")
@pytest.mark.skipif(shutil.which("sh") is None, reason="health checks are commands of a shell")
def test_its_commands_start_and_its_health_checks_tell_the_truth(stack: Stack) -> None:
    for name in OURS:
        assert not stack.is_well(name), f"{name} has not been started"
        stack.start(name)
        wait_until(partial(stack.is_well, name), 90)
    wait_until(stack.is_ready, 60)
    beat = stack.running[-1]
    beat.kill()
    beat.wait(10)
    for schedule in stack.scratch.glob("beat-schedule*"):
        old = time.time() - 180
        os.utime(schedule, (old, old))  # three minutes later
    assert not stack.is_well("beat")
