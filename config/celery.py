"""The Celery application. It carries job ids; what a job is and how far it got is in the database."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")

app = Celery("fanlight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["campaigns"])
