"""System checks: what would go wrong later is said at the start, with the way to mend it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connection


@register(Tags.files)
def var_is_writable(**_: Any) -> list[CheckMessage]:
    if os.access(settings.VAR_DIR, os.W_OK):
        return []
    return [
        Error(
            f"{settings.VAR_DIR} cannot be written.", hint="Change its owner or set FANLIGHT_VAR.", id="fanlight.E001"
        )
    ]


@register(Tags.compatibility)
def half_embedded(**_: Any) -> list[CheckMessage]:
    """PostgreSQL promises workers on many hosts; a broker in a folder of one host breaks that promise."""
    if settings.DATABASES["default"]["ENGINE"].endswith("postgresql") and not settings.REDIS_URL and not settings.DEBUG:
        return [
            Warning(
                "PostgreSQL is set but REDIS_URL is not: jobs travel through a folder on this host only.",
                hint="Set REDIS_URL, or run web and worker on this host alone.",
                id="fanlight.W001",
            )
        ]
    return []


@register(Tags.security, deploy=True)
def public_without_https(**_: Any) -> list[CheckMessage]:
    public = [host for host in settings.ALLOWED_HOSTS if host not in ("localhost", "127.0.0.1", "[::1]")]
    if public and not settings.HTTPS:
        return [
            Warning(
                f"Fanlight answers to {', '.join(public)} without HTTPS.",
                hint="Put a TLS proxy in front and set FANLIGHT_HTTPS=yes.",
                id="fanlight.W002",
            )
        ]
    return []


@register(Tags.database)
def guards_stand(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    """A warning and no error: it is ``migrate`` that mends it, which does not start where there is an error."""
    from campaigns import guards

    if not databases or not guards.has_tables(connection):
        return []
    if not (gone := guards.missing(connection)):
        return []
    named = ", ".join(gone[:3]) + ("" if len(gone) <= 3 else f" and {len(gone) - 3} more")
    return [
        Warning(
            f"The database does not refuse all that it should: it lacks {named}.",
            hint="Run manage.py migrate, which brings them back.",
            id="fanlight.W003",
        )
    ]


@register(Tags.database)
def database_version(databases: Sequence[str] | None = None, **_: Any) -> list[CheckMessage]:
    if not databases or connection.vendor != "postgresql":
        return []
    if connection.pg_version < 140000:  # type: ignore[attr-defined]
        return [Error("PostgreSQL 14 or newer is needed.", id="fanlight.E002")]
    return []
