"""Limits in words, the same for published ones and for those of the house."""

from __future__ import annotations

from campaigns.models import Limit
from campaigns.models.limits import own_limit
from methods.limits.loader import load


def text_of(limit: Limit) -> str:
    """One line for people: value, statistic, who issued it."""
    return limit.text or own_limit(limit).text()


def citation_of(limit: Limit) -> str:
    """Where it is written: body, document, edition and clause as far as known."""
    # A limit that the library no longer ships is still cited by the campaigns that chose it.
    known = load().get(limit.code) if limit.published else None
    parts = (known.body, known.document, known.edition, known.clause) if known else (limit.body, limit.document)
    return ", ".join(part for part in parts if part)
