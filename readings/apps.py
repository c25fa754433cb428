from __future__ import annotations

from django.apps import AppConfig


class ReadingsConfig(AppConfig):
    name = "readings"
    verbose_name = "Collect"

    def ready(self) -> None:
        from campaigns import history
        from campaigns.views import where
        from readings import doors, tasks, triggers  # noqa: F401 - tasks registers the job handlers
        from readings.models import LookFirst, SavedLayout, TimelineStep, Upload

        doors.register()
        history.keep([Upload], without=["bursts"])
        history.keep([SavedLayout, LookFirst])
        history.keep([TimelineStep], without=["changes"])
        triggers.connect()
        where.LISTS[SavedLayout] = "layouts"
