"""Whether what this process stands on is there. Each part is one word or a number of seconds, and no more."""

from __future__ import annotations

import logging
import os
import secrets
import shutil
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from threading import Lock, Thread
from typing import TYPE_CHECKING

from django.conf import settings
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import Error, connection

from campaigns.services import work_load, workers

if TYPE_CHECKING:
    from redis import Redis

log = logging.getLogger(__name__)

THERE, AWAY, FULL, LOW = "there", "away", "full", "low"
#: What may not answer at all is waited for so long, s, and asked again after so many.
WAIT_S, KEPT_S = 3.0, 5.0
#: Of the Redis that carries the jobs, s.
BROKER_S = 1.5


@dataclass(frozen=True)
class ReadyPart:
    """What is said of it, and whether that is well."""

    said: str | int
    well: bool

    @classmethod
    def of(cls, there: bool) -> ReadyPart:
        return cls(THERE if there else AWAY, there)


class Probe:
    """Asks in a thread of its own, so that what hangs holds nobody up; and seldom, because anybody may make us ask.

    One that still hangs is not asked a second time: it is away.
    """

    def __init__(self, ask: Callable[[], bool]) -> None:
        self._ask = ask
        self._lock = Lock()
        self._thread: Thread | None = None
        self._begun = float("-inf")
        self._said = False

    def __call__(self) -> bool:
        with self._lock:
            hangs = self._thread is not None and self._thread.is_alive()
            if not hangs and time.monotonic() - self._begun > KEPT_S:
                self._begun, self._said = time.monotonic(), False
                self._thread = Thread(target=self._look, name="probe", daemon=True)
                self._thread.start()
            thread, left = self._thread, self._begun + WAIT_S - time.monotonic()
        assert thread is not None
        thread.join(max(left, 0.0))
        return not thread.is_alive() and self._said

    def forget(self) -> None:
        """Ask anew next time."""
        self._begun = float("-inf")

    def _look(self) -> None:
        try:
            self._said = self._ask()
        except Exception as error:  # any storage's, any broker's own
            log.warning("Not there: %s (%s)", getattr(self._ask, "__name__", ""), type(error).__name__)


def _storage_takes_files() -> bool:
    """Something small can be kept, and removed."""
    kept = default_storage.save(f"ready-{secrets.token_hex(8)}", ContentFile(b"."))
    default_storage.delete(kept)
    return True


def _broker_answers() -> bool:
    if not settings.REDIS_URL:
        return os.access(settings.BROKER_DIR / "queue", os.R_OK | os.W_OK | os.X_OK)
    with _redis() as client:
        return bool(client.ping())


def _redis() -> Redis:
    from redis import Redis

    return Redis.from_url(settings.REDIS_URL, socket_connect_timeout=BROKER_S, socket_timeout=BROKER_S)


STORAGE, BROKER = Probe(_storage_takes_files), Probe(_broker_answers)


def queue_length() -> int | None:
    """Messages that wait for a worker; None where the broker does not answer."""
    if not BROKER():
        return None
    try:
        if not settings.REDIS_URL:
            return sum(1 for _ in Path(settings.BROKER_DIR, "queue").glob("*.msg"))
        with _redis() as client:
            return int(client.llen(settings.CELERY_TASK_DEFAULT_QUEUE))
    except Exception as error:
        log.warning("The queue could not be counted (%s).", type(error).__name__)
        return None


def free_bytes() -> int:
    """Of the file system where files, the database or what comes in are kept."""
    return shutil.disk_usage(settings.VAR_DIR).free


def database() -> ReadyPart:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return ReadyPart.of(False)
    return ReadyPart.of(True)


def storage() -> ReadyPart:
    return ReadyPart.of(STORAGE())


def space() -> ReadyPart:
    free = free_bytes()
    if free < settings.KEEP_FREE_BYTES:
        return ReadyPart(FULL, False)
    return ReadyPart(LOW if free < settings.LOW_SPACE_BYTES else THERE, True)


def broker() -> ReadyPart:
    return ReadyPart.of(BROKER())


def worker() -> ReadyPart:
    try:
        return ReadyPart.of(workers.beating() > 0)
    except Error:
        return ReadyPart.of(False)


def waiting() -> ReadyPart:
    try:
        seconds = int(work_load.oldest_waiting_s())
    except Error:
        return ReadyPart.of(False)
    return ReadyPart(seconds, seconds <= settings.WAITING_SECONDS)


PARTS: dict[str, Callable[[], ReadyPart]] = {
    part.__name__: part for part in (database, storage, space, broker, worker, waiting)
}
#: What nobody can tell without the database.
FROM_DATABASE = frozenset({"worker", "waiting"})


def asked(names: Iterable[str]) -> dict[str, ReadyPart]:
    """``names``: of PARTS. The database is waited for once."""
    found: dict[str, ReadyPart] = {}
    for name in names:
        gone = name in FROM_DATABASE and "database" in found and not found["database"].well
        found[name] = ReadyPart.of(False) if gone else PARTS[name]()
    return found
