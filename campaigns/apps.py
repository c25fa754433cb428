from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.apps.registry import Apps
from django.db.models.signals import post_migrate, pre_migrate


def load_limits(apps: Apps | None = None, **_: Any) -> None:
    """Bring the limits table in line with the data files whenever the database is migrated. ``apps``: the models as
    the migrations that were applied leave them."""
    from campaigns.services.limits_library import synchronise

    if apps is None or _has_all_columns(apps):
        synchronise()


def _has_all_columns(apps: Apps) -> bool:
    """Whether the tables of limits are those of this version: a database may be migrated one step, or back."""
    from campaigns.models import Limit, LimitCheck

    for model in (Limit, LimitCheck):
        try:
            applied = apps.get_model("campaigns", model.__name__)
        except LookupError:
            return False
        if {field.column for field in model._meta.fields} - {field.column for field in applied._meta.fields}:
            return False
    return True


class CampaignsConfig(AppConfig):
    name = "campaigns"
    verbose_name = "Plan"

    def ready(self) -> None:
        from campaigns import access, guards, history, permissions, receivers, tasks  # noqa: F401 - tasks sent by name
        from campaigns.guards import organisations, own

        access.register(permissions.RULES)
        history.register()
        receivers.connect()
        guards.register(own.guards)
        guards.register(organisations.guards)
        pre_migrate.connect(guards.before_migration, sender=self, dispatch_uid="campaigns.guards")
        post_migrate.connect(load_limits, sender=self, dispatch_uid="campaigns.limits")
        post_migrate.connect(guards.after_migration, sender=self, dispatch_uid="campaigns.guards")
