"""The one spelling of a report's content, its digest, and its figures. Pure."""

from __future__ import annotations

from typing import overload

from campaigns.frozen.canonical import canonical, digest

__all__ = ["canonical", "digest", "number"]


@overload
def number(value: float) -> float: ...
@overload
def number(value: None) -> None: ...
@overload
def number(value: float | None) -> float | None: ...
def number(value: float | None) -> float | None:
    """A figure as content keeps it: twelve significant digits and no negative zero, which databases spell alike."""
    return None if value is None else float(f"{value:.12g}") + 0.0
