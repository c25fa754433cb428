"""The Celery application. It carries job ids; what a job is and how far it got is in the database."""

from __future__ import annotations

import os
from typing import Any

from celery import Celery
from celery.signals import worker_init

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("fanlight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["campaigns"])


@worker_init.connect
def tie_to_parent(**_: Any) -> None:
    from config.embedded import end_with_parent

    end_with_parent()
