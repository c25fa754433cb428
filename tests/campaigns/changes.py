"""Hearing what services tell those who judge, and reading what they leave in the history."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db.models import Model

from campaigns import history
from campaigns.signals import inputs_changed


@contextmanager
def heard() -> Iterator[list[list[int]]]:
    """Ids of the campaigns named by each word that was said that inputs changed."""
    words: list[list[int]] = []

    def hear(campaign_ids: list[int], **_: Any) -> None:
        words.append(list(campaign_ids))

    inputs_changed.connect(hear)
    try:
        yield words
    finally:
        inputs_changed.disconnect(hear)


def told(row: Model) -> list[tuple[str, str, str, str]]:
    """(what, field, before, after) of each change in the history of ``row``, newest first."""
    return [(change.what, change.field, change.before, change.after) for change in history.of(row)]
