"""Names that people typed, inside a figure."""

from __future__ import annotations

from html import escape

MOST_SIGNS = 36


def short(text: str, most: int = MOST_SIGNS) -> str:
    """``text`` for the margin of a figure: what is too long loses its middle, because both ends tell places apart."""
    if len(text) <= most:
        return text
    tail = most // 2 - 1
    return f"{text[: most - tail - 1].rstrip()}…{text[-tail:].lstrip()}"


def escaped(text: str) -> str:
    """``text`` as plotly draws it letter by letter: no markup, and no field of a hover template."""
    return escape(text, quote=False).replace("%{", "% {")
