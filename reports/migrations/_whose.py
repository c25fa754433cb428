"""Whom an earlier report was released to: told by its content, not by whoever the site belongs to now."""

from __future__ import annotations

from collections.abc import Mapping


def client_of(name: str, now: Mapping[str, int], before: Mapping[str, int]) -> int | None:
    """Id of the client that a report names, among those of its organisation by their name ``now`` and by a name
    ``before``; None where no client is named, or one that nobody knows: then nobody outside the house reads it until
    it is released anew."""
    return now.get(name) or before.get(name) if name else None
