"""The one spelling of a frozen content, and its digest. Pure."""

from __future__ import annotations

import hashlib
import json
from typing import Any


def canonical(content: Any) -> bytes:
    """UTF-8 JSON with sorted keys, no spaces and no characters escaped that need not be: the same content, the same
    bytes, whichever database kept it. Raises ValueError for numbers that JSON has not (nan, infinity)."""
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode()


def digest(content: Any) -> str:
    """SHA-256 of the canonical form, in hexadecimal."""
    return hashlib.sha256(canonical(content)).hexdigest()
