from __future__ import annotations

from django.apps import AppConfig


class CampaignsConfig(AppConfig):
    name = "campaigns"
    verbose_name = "Plan"

    def ready(self) -> None:
        from campaigns import doors, history, triggers

        doors.register()
        history.register()
        triggers.connect()
