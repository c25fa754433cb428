"""Records that say all that another one says, and more: made from the other one. Pure."""

from __future__ import annotations

from dataclasses import fields
from typing import Any


def values_of(record: Any, kind: type) -> dict[str, Any]:
    """What ``record`` says under each field of ``kind``, a dataclass whose fields it has: arguments of another one that
    has them too."""
    return {field.name: getattr(record, field.name) for field in fields(kind)}
