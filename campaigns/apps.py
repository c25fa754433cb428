from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db.models.signals import post_migrate


def load_limits(**_: Any) -> None:
    """Bring the limits table in line with the data files whenever the database is migrated."""
    from campaigns.services.limits_library import synchronise

    synchronise()


class CampaignsConfig(AppConfig):
    name = "campaigns"
    verbose_name = "Plan"

    def ready(self) -> None:
        from campaigns import access, history, permissions, receivers, tasks  # noqa: F401 - tasks sent by name

        access.register(permissions.RULES)
        history.register()
        receivers.connect()
        post_migrate.connect(load_limits, sender=self, dispatch_uid="campaigns.limits")
