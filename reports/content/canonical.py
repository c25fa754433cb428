"""The one spelling of a report's content, and its digest. Pure."""

from __future__ import annotations

import hashlib
import json
from typing import Any, overload


def canonical(content: Any) -> bytes:
    """UTF-8 JSON with sorted keys, no spaces and no characters escaped that need not be: the same content, the same
    bytes, whichever database kept it. Raises ValueError for numbers that JSON has not (nan, infinity)."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode()


def digest(content: Any) -> str:
    """SHA-256 of the canonical form, in hexadecimal."""
    return hashlib.sha256(canonical(content)).hexdigest()


@overload
def number(value: float) -> float: ...
@overload
def number(value: None) -> None: ...
@overload
def number(value: float | None) -> float | None: ...
def number(value: float | None) -> float | None:
    """A figure as content keeps it: twelve significant digits and no negative zero, which databases spell alike."""
    return None if value is None else float(f"{value:.12g}") + 0.0
