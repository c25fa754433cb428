"""To which organisation a row belongs, by the same path that its door names."""

from __future__ import annotations

from typing import Any

from django.db.models import Model

from campaigns import access


def organisation_id_of(row: Model) -> int:
    """Id of the organisation ``row`` belongs to. KeyError for a model without a door."""
    path = access.registered()[type(row)].organisation
    owner: Any = row
    for step in path.split("__") if path else ():
        owner = getattr(owner, step)
    return int(owner.pk)
