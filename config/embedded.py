"""The embedded worker: a child of the web process that lives and dies with it, and is put back when it falls."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import threading
from types import TracebackType

from django.conf import settings
from django.db import close_old_connections

from campaigns.tasks import sweep

log = logging.getLogger(__name__)

PARENT = "FANLIGHT_PARENT"
COMMAND = (
    sys.executable, "-m", "celery", "--app", "config", "worker", "--pool", "solo", "--loglevel", "INFO",
    "--without-gossip", "--without-mingle", "--without-heartbeat", "--hostname", "embedded@%h",
)  # fmt: skip
STOP_SECONDS = 15


class EmbeddedWorker:
    """``with EmbeddedWorker():`` runs one worker and sweeps in between."""

    def __init__(self, watch_seconds: float = 2.0, sweep_seconds: float = 10.0) -> None:
        self._watch, self._sweep_every = watch_seconds, sweep_seconds
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._keep, name="worker-keeper", daemon=True)
        self.process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> EmbeddedWorker:
        self._start()
        self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, tb: TracebackType | None) -> None:
        self._stop.set()
        self._thread.join(timeout=STOP_SECONDS)
        if self.process is not None and self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(STOP_SECONDS)
            except subprocess.TimeoutExpired:
                self.process.kill()  # its job is given back by the next sweep

    def _start(self) -> None:
        self.process = subprocess.Popen(  # noqa: S603 - our own interpreter and arguments
            COMMAND, cwd=settings.BASE_DIR, env={**os.environ, PARENT: str(os.getpid())}
        )

    def _keep(self) -> None:
        waited = 0.0
        while not self._stop.wait(self._watch):
            waited += self._watch
            if self.process is not None and self.process.poll() is not None:
                log.warning("The worker ended (code %s); starting it again.", self.process.returncode)
                self._start()
            if waited >= self._sweep_every:
                waited = 0.0
                self._sweep()

    @staticmethod
    def _sweep() -> None:
        close_old_connections()
        try:
            sweep()
        except Exception:  # a database that is away now is there later; the keeper must outlive it
            log.exception("The sweep failed; it runs again shortly.")
        finally:
            close_old_connections()


def end_with_parent() -> None:
    """In the child: end when the web process is gone, even if it was killed without a chance to say so."""
    parent = os.environ.get(PARENT)
    if parent is None or not hasattr(os, "getppid") or sys.platform == "win32":
        return

    def watch() -> None:
        while os.getppid() == int(parent):
            threading.Event().wait(1.0)
        os._exit(3)

    threading.Thread(target=watch, name="parent-watch", daemon=True).start()
