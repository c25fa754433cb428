"""Rows in words: how a name is printed in a sentence, and how changes are told."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any

from django.db.models import Model

from campaigns.history import Change
from methods.wording.numbers import sentence_case


def name(row: Any) -> str:
    """The row's name in quotation marks, fit for the middle of a sentence."""
    return f"“{row}”"


def entries(row: Model, changes: Iterable[Change]) -> list[dict[str, Any]]:
    """Changes as ``parts/history.html`` takes them: one entry per saving, with the fields that are the row's own."""
    own = {str(field.verbose_name) for field in row._meta.concrete_fields}
    kept = (change for change in changes if change.field in own)
    return [
        {
            "who": who,
            "when": f"{at:%Y-%m-%d %H:%M} UTC",
            "what": sentence_case(what),
            "changes": [(sentence_case(c.field), "" if c.before == "–" else c.before, c.after) for c in group],
        }
        for (at, who, what), group in groupby(kept, key=lambda c: (c.at, c.who, c.what))
    ]
