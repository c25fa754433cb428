from __future__ import annotations

from django.apps import AppConfig


class ReadingsConfig(AppConfig):
    name = "readings"
    verbose_name = "Collect"

    def ready(self) -> None:
        from campaigns import access, history, urgent
        from campaigns.guards import register
        from methods.logs.words import reserved_words
        from readings import guards, permissions, receivers, tasks  # noqa: F401 - tasks registers the job handlers
        from readings.models import (
            Alert,
            ClockLag,
            ClockQuestionLeft,
            LookFirst,
            SavedLayout,
            SettingAside,
            TimelineStep,
            Upload,
        )
        from readings.pages.alerts import unanswered

        reserved_words.check()
        access.register(permissions.RULES)
        history.keep([Upload], without=["bursts", "asides"])
        history.keep([SavedLayout, LookFirst, SettingAside, ClockLag, ClockQuestionLeft, Alert])
        history.keep([TimelineStep], without=["changes"])
        register(guards.guards)
        urgent.urgent(unanswered)
        receivers.connect()
