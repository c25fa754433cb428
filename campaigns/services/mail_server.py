"""Whether mails leave the house at all."""

from __future__ import annotations

from django.conf import settings

#: Backends that write a mail down instead of sending it.
STAYING = frozenset(f"django.core.mail.backends.{name}.EmailBackend" for name in ("console", "dummy", "filebased"))
NO_SERVER = "not sent: no mail server is set"


def is_set() -> bool:
    """False where what would be sent is only written to the log of the worker."""
    return settings.EMAIL_BACKEND not in STAYING
