"""Values out of JSON that somebody sent: of the right kind, or a message."""

from __future__ import annotations

import re
import sys
from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError

#: What JSON can escape and no database keeps: NUL, and halves of characters.
_NO_CHARACTER = re.compile(r"[\x00\ud800-\udfff]")


def text(sent: Mapping[str, Any], name: str) -> str:
    value = sent[name]
    if not isinstance(value, str) or _NO_CHARACTER.search(value):
        raise ValidationError({name: "This is not text."})
    return value.strip()


def number(sent: Mapping[str, Any], name: str) -> float | None:
    value = sent[name]
    if value is None:
        return None
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not abs(value) <= sys.float_info.max:  # an integer of JSON may be larger than any float
        raise ValidationError({name: "This is not a number."})
    return float(value)


def needed(sent: Mapping[str, Any], name: str) -> float:
    value = number(sent, name) if name in sent else None
    if value is None:
        raise ValidationError({name: "A number is missing."})
    return value


def rows(sent: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    """A list of objects that each have an id."""
    listed = sent.get(name, [])
    if not isinstance(listed, list) or not all(isinstance(r, dict) and isinstance(r.get("id"), str) for r in listed):
        raise ValidationError({name: "This is not a list of rows."})
    return listed
