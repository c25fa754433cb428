"""A report's content as the database keeps it, and as it is read again."""

from __future__ import annotations

import json
from typing import Any

from campaigns.frozen.records import Codec
from reports.content.canonical import digest
from reports.content.record import ReportContent, SignedContent
from reports.content.upgrades import upgraded

UNSIGNED, SIGNED = Codec(ReportContent), Codec(SignedContent)


def to_store(content: ReportContent) -> dict[str, Any]:
    """The JSON object that is stored, and whose digest is signed. Raises RecordError for what is no such content."""
    text = SIGNED.text(content) if isinstance(content, SignedContent) else UNSIGNED.text(content)
    stored: dict[str, Any] = json.loads(text)
    return stored


def from_store(stored: Any) -> SignedContent:
    """The record of a stored report. Raises UnreadableFormat, or RecordError with the place of what is wrong."""
    return SIGNED.read(upgraded(stored))


def digest_of(content: ReportContent) -> str:
    """SHA-256 of the content in its canonical form, in hexadecimal. Of a signed content it covers the signature."""
    return digest(to_store(content))
