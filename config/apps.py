from __future__ import annotations

from django.apps import AppConfig


class ConfigConfig(AppConfig):
    name = "config"
    verbose_name = "Running Fanlight"

    def ready(self) -> None:
        from config import checks  # noqa: F401 - registers the system checks
