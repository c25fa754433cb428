"""A real Celery worker in another process, on the test's own database, broker and files."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import IO
from urllib.parse import quote

from celery import Celery
from django.conf import settings
from django.db import connection

from campaigns.tasks import run_job

ROOT = Path(__file__).resolve().parents[2]
LEASE_S = 3


def database_url() -> str:
    db = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{db['NAME']}"
    where = f"{db['HOST'] or '127.0.0.1'}:{db['PORT'] or 5432}"
    return f"postgres://{quote(db['USER'])}:{quote(db['PASSWORD'])}@{where}/{db['NAME']}"


class Stage:
    """Where workers of one test run; everything of it lies under ``var``, in a queue of its own."""

    def __init__(self, var: Path) -> None:
        self.var = var
        self.queue = f"test-{var.name}-{os.getpid()}"
        self.app = self._sender()
        self.env = {
            **os.environ,
            "DATABASE_URL": database_url(),
            "FANLIGHT_VAR": str(var),
            "FANLIGHT_QUEUE": self.queue,
            "FANLIGHT_JOB_LEASE": str(LEASE_S),
            "FANLIGHT_JOB_RESEND": "1",
            "FANLIGHT_JOB_RETRY": "1",
            "REDIS_URL": settings.REDIS_URL,
        }
        self.running: list[subprocess.Popen[bytes]] = []

    def _sender(self) -> Celery:
        """An app that puts messages where the workers of this stage look for them."""
        app = Celery("stage", broker=settings.CELERY_BROKER_URL, set_as_current=False)
        app.conf.task_default_queue = self.queue
        if not settings.REDIS_URL:
            folders = {name: self.var / "broker" / name for name in ("queue", "control")}
            for folder in folders.values():
                folder.mkdir(parents=True, exist_ok=True)
            queue = str(folders["queue"])
            app.conf.broker_transport_options = {
                "data_folder_in": queue, "data_folder_out": queue, "control_folder": str(folders["control"]),
            }  # fmt: skip
        return app

    def send(self, args: tuple[int], **_: object) -> None:
        """In place of ``run_job.apply_async``: the same message, to this stage."""
        self.app.send_task(run_job.name, args)

    def worker(self, stderr: IO[bytes] | None = None) -> subprocess.Popen[bytes]:
        command = [
            sys.executable, "-m", "celery", "-A", "config", "worker", "--pool", "solo", "-l", "WARNING",
            "--without-gossip", "--without-mingle", "--without-heartbeat", "-n", f"{self.queue}-{len(self.running)}@%h",
        ]  # fmt: skip
        process = subprocess.Popen(command, cwd=ROOT, env=self.env, stderr=stderr)
        self.running.append(process)
        return process

    def lose_messages(self) -> int:
        """Throw away everything the broker holds; returns how many messages that was."""
        if settings.REDIS_URL:
            import redis

            broker = redis.Redis.from_url(settings.REDIS_URL)
            waiting = int(broker.llen(self.queue))
            broker.delete(self.queue)
            return waiting
        messages = list((self.var / "broker" / "queue").glob("*.msg"))
        for message in messages:
            message.unlink()
        return len(messages)

    def stop(self) -> None:
        for process in self.running:
            if process.poll() is None:
                process.send_signal(signal.SIGKILL)
                process.wait(10)
        self.lose_messages()
        self._forget()
        self.app.close()

    def _forget(self) -> None:
        """What the broker keeps of a queue after its workers are gone."""
        if settings.REDIS_URL:
            import redis

            broker = redis.Redis.from_url(settings.REDIS_URL)
            if kept := list(broker.scan_iter(match=f"*{self.queue}*")):
                broker.delete(*kept)


def wait_until(true: Callable[[], bool], seconds: float = 90, every: float = 0.05) -> None:
    until = time.monotonic() + seconds
    while not true():
        if time.monotonic() > until:
            raise AssertionError(f"not true after {seconds} s: {true}")
        time.sleep(every)
