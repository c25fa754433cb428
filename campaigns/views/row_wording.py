"""Rows in words: how a name is printed in a sentence, and how changes are told."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from typing import Any

from django.db.models import Model

from campaigns.history import NOTED, Change, told
from campaigns.naming import capital, word
from methods.wording.numbers import sentence_case


def name(row: Any) -> str:
    """The row's name in quotation marks, fit for the middle of a sentence."""
    return f"“{row}”"


def entries(row: Model, changes: Iterable[Change]) -> list[dict[str, Any]]:
    """Changes as ``parts/history.html`` takes them: one entry per saving, with the fields that are the row's own."""
    own = _own(row)
    kept = (change for change in changes if change.field in own)
    return [
        _entry(at, who, what, group) for (at, who, what), group in groupby(kept, key=lambda c: (c.at, c.who, c.what))
    ]


def entries_of_several(logged: Iterable[Any]) -> list[dict[str, Any]]:
    """The same of entries about several rows, gone ones too: each says which it is about."""
    found = []
    for entry in logged:
        model = entry.content_type.model_class()
        changes = [change for change in told(entry) if change.field in _own(model)]
        if changes:
            first = changes[0]
            about = f"{capital(word(model))} {name(entry.object_repr)}: {first.what}"
            found.append(_entry(first.at, first.who, about, changes))
    return found


def _own(row: Any) -> set[str]:
    return {str(field.verbose_name) for field in row._meta.concrete_fields} | set(NOTED)


def _entry(at: datetime, who: str, what: str, changes: Iterable[Change]) -> dict[str, Any]:
    return {
        "who": who,
        "when": f"{at:%Y-%m-%d %H:%M} UTC",
        "what": sentence_case(what),
        "changes": [(sentence_case(c.field), "" if c.before == "–" else c.before, c.after) for c in changes],
    }
