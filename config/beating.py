"""A worker says that it is there, from a thread of its own: also while it has nothing to do, and while it works."""

from __future__ import annotations

import logging
import os
import threading

from django.db import connections

from campaigns.services import workers

log = logging.getLogger(__name__)


class Heart:
    """Beats between ``start`` and ``stop``. Its connection is opened for each beat and closed after it, so that none
    is inherited by a process that is forked meanwhile."""

    def __init__(self, name: str, every_s: float = workers.BEAT_S) -> None:
        self.name = name
        self._every = every_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._keep_on, name="worker-heart", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def stop(self) -> None:
        """Ends, and says that the worker does: nobody has to wait until its silence is noticed."""
        self._stop.set()
        self._thread.join(self._every)

    def _keep_on(self) -> None:
        while not self._stop.is_set():
            self._say(workers.beat)
            self._stop.wait(self._every)
        self._say(workers.leave)

    def _say(self, what: workers.Saying) -> None:
        try:
            what(self.name)
        except Exception as error:  # a database that is away now is there at one of the next beats
            log.warning("The worker could not say that it is there: %s", type(error).__name__)
        finally:
            connections.close_all()


def name_of(celery_name: str) -> str:
    """What a worker is called: by Celery, which says on which host, and its process."""
    return f"{celery_name} {os.getpid()}"[:200]
