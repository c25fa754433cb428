"""The names of all routes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from django.urls import URLPattern, URLResolver


def names_in(patterns: Iterable[URLPattern | URLResolver], space: str = "") -> Iterator[str]:
    """Every route's name, with its name spaces. A route without a name cannot be in the table, so it is an error."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from names_in(pattern.url_patterns, f"{space}{pattern.namespace}:" if pattern.namespace else space)
        else:
            assert pattern.name, f"{pattern} has no name"
            yield space + pattern.name
