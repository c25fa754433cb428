"""Names that people typed, inside a figure."""

from __future__ import annotations

from html import escape


def escaped(text: str) -> str:
    """``text`` as plotly draws it letter by letter: no markup, and no field of a hover template."""
    return escape(text, quote=False).replace("%{", "% {")
