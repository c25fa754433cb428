"""The Celery application. It carries job ids; what a job is and how far it got is in the database."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Any

from celery import Celery
from celery.signals import setup_logging, task_prerun, worker_init, worker_ready, worker_shutdown
from structlog.contextvars import clear_contextvars

if TYPE_CHECKING:
    from config.beating import Heart

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("fanlight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["campaigns"])

_hearts: list[Heart] = []


@setup_logging.connect
def log_as_settings_say(**_: Any) -> None:
    """Celery sets up no logging of its own where somebody listens to this: ours is that of the settings."""


@worker_init.connect
def tie_to_parent(**_: Any) -> None:
    from config.embedded import end_with_parent

    end_with_parent()


@worker_ready.connect
def begin_to_beat(sender: Any, **_: Any) -> None:
    from config.beating import Heart, name_of

    heart = Heart(name_of(sender.hostname))
    heart.start()
    _hearts.append(heart)


@worker_shutdown.connect
def stop_beating(**_: Any) -> None:
    while _hearts:
        _hearts.pop().stop()


@task_prerun.connect
def forget_the_last_job(**_: Any) -> None:
    """Lines of the log carry the job that is worked on; ``campaigns.tasks`` says which."""
    clear_contextvars()
