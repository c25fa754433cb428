from __future__ import annotations

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    name = "reports"
    verbose_name = "Judge"

    def ready(self) -> None:
        from campaigns import access, history
        from campaigns.guards import register
        from reports import guards, permissions, receivers, tasks  # noqa: F401 - tasks registers the job handlers
        from reports.models import AgreementDeparture, ExposureGroup, ExposureSample, Report

        access.register(permissions.RULES)
        history.keep([AgreementDeparture, ExposureGroup, ExposureSample])
        history.keep([Report], without=("content",))  # half a megabyte, which the report itself keeps for good
        register(guards.guards)
        receivers.connect()
