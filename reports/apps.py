from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


def load_limits(**_: Any) -> None:
    """Bring the limits table in line with the data files whenever the database is migrated."""
    from reports.services.library import synchronise

    synchronise()


class ReportsConfig(AppConfig):
    name = "reports"
    verbose_name = "Judge"

    def ready(self) -> None:
        from campaigns import history
        from campaigns.views import where
        from reports import doors, triggers
        from reports import tasks as tasks  # registers the job handlers
        from reports.models import Criterion, ExposureGroup, ExposureSample, Limit, LimitCheck, Report

        doors.register()
        where.LISTS[Limit] = "limits"
        where.PAGES[Limit] = "limit"
        where.PARENTS[ExposureGroup] = "campaign"
        where.PAGES[ExposureGroup] = "exposure-group"
        triggers.connect()
        history.keep([Limit, LimitCheck, Criterion, ExposureGroup, ExposureSample])
        history.keep([Report], without=("content",))  # half a megabyte, which the report itself keeps for good
        post_migrate.connect(load_limits, sender=self, dispatch_uid="reports.limits")
